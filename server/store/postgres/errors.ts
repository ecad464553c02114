import pg from 'pg';
import { StoreError, type StoreFault } from '../port.ts';

const UNREACHABLE =
  'The database server cannot be reached or has ended the connection: check that it runs. What was not acknowledged can be sent again.';

/** SQLSTATE, whole or its beginning (longest first), and what it means to whoever uses the store. */
const explanations: readonly (readonly [prefix: string, fault: StoreFault, message: string])[] = [
  ['53100', 'full', 'The disk of the database server is full: nothing was written. Free some space there.'],
  ['53', 'busy', 'The database server has no room for another connection or task: try again, or raise its limits.'],
  ['25006', 'read-only', 'The database takes no writes: it is a standby, or set to read only.'],
  ['42501', 'read-only', 'The user of the database may not do this: let that user own the database.'],
  ['55P03', 'busy', 'Another process has held what is to be written for too long: try again.'],
  ['40001', 'busy', 'Other processes wrote the same at the same time: try again.'],
  ['40P01', 'busy', 'Other processes wrote the same at the same time: try again.'],
  ['57014', 'busy', 'The database took too long and was told to stop: try again.'],
  ['57P', 'unreachable', UNREACHABLE],
  ['08', 'unreachable', UNREACHABLE],
  ['28', 'failed', 'The database server does not let us in: check user and password in COOMB_DATABASE_URL.'],
  ['3D000', 'failed', 'There is no database of that name: make it first, or check COOMB_DATABASE_URL.'],
  ['22021', 'failed', 'A text holds a character that cannot be kept.'],
  ['58', 'failed', 'The disk of the database server could not be read or written: check it.'],
  ['XX', 'failed', 'The database is damaged: keep a copy of it and restore a backup.'],
  ['23505', 'already-there', 'There is one of that name or with that key already.'],
  ['23503', 'not-found', 'Something that this refers to does not exist in the dwelling.'],
];

/** What the network says, by code, and what the driver says, by its words, when there is no server at the other end. */
const lostCodes =
  /^(ECONN(REFUSED|RESET|ABORTED)|EPIPE|ETIMEDOUT|EHOSTUNREACH|ENETUNREACH|ENOTFOUND|EAI_AGAIN|ENOENT)$/;
const lostWords =
  /^(Connection terminated|Client has encountered a connection error|Client was closed|timeout exceeded when trying to connect|The server does not support SSL)/;

/** SQLSTATE of an error of the engine; null: it is not one. */
export const sqlState = (error: unknown): string | null =>
  error instanceof pg.DatabaseError ? (error.code ?? null) : null;

/** The one crossing from the engine's errors to the port's. Anything that is not the engine's own passes unchanged. */
export function toStoreError(error: unknown): unknown {
  if (error instanceof pg.DatabaseError) {
    const known = explanations.find(([prefix]) => error.code?.startsWith(prefix));
    return known === undefined
      ? new StoreError('failed', `The database could not do this: ${error.message}`, error)
      : new StoreError(known[1], `${known[2]} (${error.message})`, error);
  }
  if (!(error instanceof Error) || error instanceof StoreError || error instanceof RangeError) return error;
  // several addresses were tried, and none answered
  const first: unknown = error instanceof AggregateError ? error.errors[0] : error;
  const code = String((first as NodeJS.ErrnoException).code ?? '');
  if (lostCodes.test(code) || lostWords.test(error.message)) {
    return new StoreError('unreachable', `${UNREACHABLE} (${(first as Error).message})`, error);
  }
  if (error.message.startsWith('Cannot use a pool after calling end')) {
    return new StoreError('failed', 'The store has been closed.', error);
  }
  return error;
}
