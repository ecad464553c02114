import type { NextFunction, Request, Response } from 'express';
import type { Logger } from 'pino';
import { type ZodError, z } from 'zod';
import { StoreError, type StoreFault } from '../store/port.ts';
import type { Problem } from './contract/figures.ts';

export type ProblemCode =
  | 'bad-request'
  | 'not-found'
  | 'method-not-allowed'
  | 'already-there'
  | 'unsupported-media-type'
  | 'too-large'
  | 'foreign-origin'
  | 'sign-in-needed'
  | 'sign-in-refused'
  | 'not-allowed'
  | 'not-shared'
  | 'too-many-tries'
  | 'quarantined'
  | 'storage-unavailable'
  | 'failed';

const titles: Record<ProblemCode, [status: number, title: string]> = {
  'bad-request': [400, 'The request cannot be understood'],
  'sign-in-needed': [401, 'Sign in first'],
  'sign-in-refused': [401, 'That is not right'],
  'not-allowed': [403, 'That is not yours to do'],
  'not-shared': [403, 'The household has not agreed to that'],
  'too-many-tries': [429, 'Too many tries'],
  'foreign-origin': [403, 'The request comes from another site'],
  'not-found': [404, 'There is no such thing here'],
  'method-not-allowed': [405, 'That cannot be done here'],
  'already-there': [409, 'There is one already'],
  'too-large': [413, 'Too much at once'],
  quarantined: [422, 'Nothing in the message could be used'],
  'unsupported-media-type': [415, 'The request must be JSON'],
  'storage-unavailable': [503, 'The database cannot be written at the moment'],
  failed: [500, 'Something went wrong in the program; it has been logged'],
};

/** A request that cannot be answered; becomes Problem Details (RFC 9457). `detail` is text for the sender. */
export class RequestProblem extends Error {
  override readonly name = 'RequestProblem';
  readonly code: ProblemCode;
  readonly errors: Problem['errors'];
  constructor(code: ProblemCode, detail: string, errors?: Problem['errors']) {
    super(detail);
    this.code = code;
    this.errors = errors;
  }
}

/** Faults of one part of a request, each with a JSON Pointer to the value at fault. */
export function fromZod(part: 'path' | 'query' | 'body', error: ZodError): RequestProblem {
  const errors = error.issues.map((issue) => ({
    pointer: `/${issue.path.map((step) => String(step).replaceAll('~', '~0').replaceAll('/', '~1')).join('/')}`,
    detail: issue.message,
  }));
  return new RequestProblem(
    'bad-request',
    `The ${part} does not fit: ${z.prettifyError(error).replaceAll('\n', ' ')}`,
    errors,
  );
}

const storeProblems: Record<StoreFault, ProblemCode> = {
  'not-found': 'not-found',
  'already-there': 'already-there',
  full: 'storage-unavailable',
  'read-only': 'storage-unavailable',
  busy: 'storage-unavailable',
  unreachable: 'storage-unavailable',
  'newer-schema': 'failed',
  failed: 'failed',
};

interface ParserError {
  readonly type: string;
  readonly message: string;
}

const isParserError = (error: unknown): error is ParserError =>
  error instanceof Error && typeof (error as Partial<ParserError>).type === 'string';

function toProblem(error: unknown): { code: ProblemCode; detail?: string; errors?: Problem['errors'] } {
  if (error instanceof RequestProblem) return { code: error.code, detail: error.message, errors: error.errors };
  if (error instanceof StoreError) {
    const code = storeProblems[error.fault];
    return code === 'failed' ? { code } : { code, detail: error.message };
  }
  if (error instanceof RangeError) return { code: 'bad-request', detail: error.message };
  if (error instanceof URIError) return { code: 'bad-request', detail: 'The address holds a % that encodes nothing.' };
  if (isParserError(error)) {
    if (error.type === 'entity.too.large') return { code: 'too-large', detail: 'Send fewer readings at once.' };
    if (error.type === 'entity.parse.failed')
      return { code: 'bad-request', detail: `The body is not JSON: ${error.message}` };
    return { code: 'bad-request', detail: error.message };
  }
  const refused = statusOf(error);
  if (refused === null) return { code: 'failed' };
  // its text may name a file
  return { code: refusals[refused] ?? 'bad-request', detail: 'The request cannot be read as it was sent.' };
}

const refusals: Readonly<Record<number, ProblemCode>> = {
  404: 'not-found',
  413: 'too-large',
  415: 'unsupported-media-type',
};

/** What a library refused a request with, e.g. 400 for a body that is not packed as its header says. */
function statusOf(error: unknown): number | null {
  const { status } = (error ?? {}) as { status?: unknown };
  return error instanceof Error && typeof status === 'number' && status >= 400 && status < 500 ? status : null;
}

/** Last stop for every error of a request: known ones become their problem, unknown ones a fixed text and a log line. */
export function problemHandler(log: Logger) {
  return (error: unknown, request: Request, response: Response, next: NextFunction): void => {
    const { code, detail, errors } = toProblem(error);
    const [status, title] = titles[code];
    if (status >= 500) log.error({ err: error, method: request.method, path: request.path }, 'request failed');
    if (response.headersSent) {
      next(error);
      return;
    }
    const problem: Problem = {
      type: 'about:blank',
      title,
      status,
      code,
      ...(detail === undefined ? {} : { detail }),
      ...(errors === undefined ? {} : { errors }),
    };
    response.status(status).type('application/problem+json').send(JSON.stringify(problem));
  };
}
