import express, { type Request, type Response, type Router } from 'express';
import type { z } from 'zod';
import { type Operation, type OperationName, operations } from './contract/operations.ts';
import { fromZod, RequestProblem } from './problem.ts';

type Table = typeof operations;
type Parsed<S> = S extends z.ZodType ? z.output<S> : undefined;
type Part<N extends OperationName, K extends string> = Table[N] extends Record<K, infer S> ? Parsed<S> : undefined;

/** What a handler is given, already checked against the contract, and what it must return. */
export type Handlers = {
  readonly [N in OperationName]: (given: {
    params: Part<N, 'params'>;
    query: Part<N, 'query'>;
    body: Part<N, 'body'>;
  }) => Promise<Table[N]['response'] extends z.ZodType ? z.input<Table[N]['response']> : undefined>;
};

/** Payloads from sensors are read by ingest, which keeps what it cannot understand: they are not parsed here. */
const RAW: ReadonlySet<OperationName> = new Set(['sendReadings']);

/** Routes for every operation of the contract, under the path the caller mounts it on. */
export function createRouter(handlers: Handlers): Router {
  const router = express.Router();
  const json = express.json({ limit: '1mb', strict: false });
  const raw = express.raw({ limit: '16mb', type: () => true });
  for (const [operationName, operation] of Object.entries(operations) as [OperationName, Operation][]) {
    const isRaw = RAW.has(operationName);
    const before = operation.body === undefined ? [] : isRaw ? [raw] : [requireJson, json];
    const handle = handlers[operationName] as (given: unknown) => Promise<unknown>;
    router[operation.method](operation.path, ...before, async (request: Request, response: Response) => {
      const answer = await handle({
        params: check('path', operation.params, request.params),
        query: check('query', operation.query, request.query),
        body: isRaw ? (request.body ?? Buffer.alloc(0)) : check('body', operation.body, request.body),
      });
      if (operation.response === null) response.status(204).end();
      else response.status(operation.status ?? 200).json(answer);
    });
  }
  const methods = new Map<string, string[]>();
  for (const { path, method } of Object.values(operations)) {
    methods.set(path, [...(methods.get(path) ?? []), method.toUpperCase()]);
  }
  for (const [path, allowed] of methods) {
    router.all(path, (_request, response) => {
      response.set('allow', allowed.join(', '));
      throw new RequestProblem('method-not-allowed', `This address takes ${allowed.join(', ')}.`);
    });
  }
  return router;
}

function requireJson(request: Request, _response: Response, next: () => void): void {
  if (!request.is('application/json')) {
    throw new RequestProblem('unsupported-media-type', 'Send the body as application/json.');
  }
  next();
}

function check(part: 'path' | 'query' | 'body', schema: z.ZodType | undefined, given: unknown): unknown {
  if (schema === undefined) return undefined;
  const result = schema.safeParse(given);
  if (!result.success) throw fromZod(part, result.error);
  return result.data;
}
