import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import express, { type NextFunction, type Request, type Response, type Router } from 'express';
import type { z } from 'zod';
import type { Visit } from './access/visit.ts';
import { type Operation, type OperationName, operations } from './contract/operations.ts';
import { fromZod, RequestProblem } from './problem.ts';
import type { Upload } from './upload.ts';

type Table = typeof operations;
type Parsed<S> = S extends z.ZodType ? z.output<S> : undefined;
type Part<N extends OperationName, K extends string> = Table[N] extends Record<K, infer S> ? Parsed<S> : undefined;

/** A file as an answer. It is of one home: kept by nobody on the way, and by the browser only to ask whether it still is. */
export type FileAnswer =
  | { readonly type: string; readonly bytes: Uint8Array }
  /** sent from disk, to be saved under a name */
  | { readonly type: string; readonly path: string; readonly name: string }
  /** made while it is sent, to be saved under a name */
  | { readonly type: string; readonly pieces: AsyncIterable<string | Uint8Array>; readonly name: string };

type Answer<Entry> = Entry extends { readonly gives: string | readonly string[] }
  ? FileAnswer
  : Entry extends { readonly response: infer S extends z.ZodType }
    ? z.input<S>
    : undefined;

/** What a handler is given, already checked against the contract, and what it must return. */
export type Handlers = {
  readonly [N in OperationName]: (given: {
    params: Part<N, 'params'>;
    query: Part<N, 'query'>;
    body: Part<N, 'body'>;
    visit: Visit;
    upload: Table[N] extends { readonly upload: true } ? Upload : undefined;
  }) => Promise<Answer<Table[N]>>;
};

/** Payloads from sensors are read by ingest, which keeps what it cannot understand: they are not parsed here. */
const RAW: ReadonlySet<OperationName> = new Set(['sendReadings']);

/** What stands between a request and its operation. */
export interface Door {
  /** Who asks. */
  visit(request: Request, response: Response): Promise<Visit>;
  /** Throws a {@link RequestProblem} unless the visitor may do the operation with these parts of the address. */
  admit(visit: Visit, operation: Operation, params: Readonly<Record<string, unknown>>): Promise<void>;
  /** An operation that leaves a line on the trail was done. */
  done(visit: Visit, name: OperationName, params: Readonly<Record<string, unknown>>, body: unknown): Promise<void>;
}

/** Routes for every operation of the contract, under the path the caller mounts it on. */
export function createRouter(handlers: Handlers, door: Door): Router {
  const router = express.Router();
  const json = express.json({ limit: '1mb', strict: false });
  const raw = express.raw({ limit: '16mb', type: () => true });
  for (const [operationName, operation] of Object.entries(operations) as [OperationName, Operation][]) {
    const isRaw = RAW.has(operationName);
    const before = operation.body === undefined ? [] : isRaw ? [raw] : [requireJson, json];
    const handle = handlers[operationName] as (given: unknown) => Promise<unknown>;
    const enter = async (request: Request, response: Response, next: NextFunction) => {
      const visit = await door.visit(request, response);
      // before the body is read: a stranger is not to make the server work
      await door.admit(visit, operation, request.params);
      response.locals.visit = visit;
      next();
    };
    router[operation.method](operation.path, enter, ...before, async (request: Request, response: Response) => {
      const visit = response.locals.visit as Visit;
      const params = check('path', operation.params, request.params);
      const body = isRaw ? (request.body ?? Buffer.alloc(0)) : check('body', operation.body, request.body);
      const query = check('query', operation.query, request.query);
      const upload = operation.upload ? uploadOf(request) : undefined;
      const answer = await handle({ params, query, body, visit, upload });
      if (operation.trail) await door.done(visit, operationName, request.params, body);
      if (operation.gives !== undefined) await sendFile(response, answer as FileAnswer);
      else if (operation.response === null) response.status(204).end();
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

function uploadOf(request: Request): Upload {
  const announced = Number(request.headers['content-length'] ?? Number.NaN);
  return { stream: request, length: Number.isFinite(announced) ? announced : null };
}

async function sendFile(response: Response, answer: FileAnswer): Promise<void> {
  response.status(200).set({
    'content-type': answer.type,
    'cache-control': 'private, no-cache',
    'content-disposition': 'name' in answer ? `attachment; filename="${answer.name}"` : 'inline',
    'content-security-policy': "default-src 'none'; sandbox",
  });
  if ('path' in answer) response.sendFile(answer.path, { cacheControl: false, dotfiles: 'allow' });
  else if ('bytes' in answer) response.end(answer.bytes);
  else {
    try {
      await pipeline(Readable.from(answer.pieces), response);
    } catch (error) {
      // whoever asked has gone: nobody is left to be told
      if ((error as NodeJS.ErrnoException).code !== 'ERR_STREAM_PREMATURE_CLOSE') throw error;
    }
  }
}

function requireJson(request: Request, _response: Response, next: () => void): void {
  if (!request.is('application/json')) {
    throw new RequestProblem('unsupported-media-type', 'Send the body as application/json.');
  }
  next();
}

export function check<T = undefined>(
  part: 'path' | 'query' | 'body',
  schema: z.ZodType<T> | undefined,
  given: unknown,
): T {
  if (schema === undefined) return undefined as T;
  const result = schema.safeParse(given);
  if (!result.success) throw fromZod(part, result.error);
  return result.data;
}
