import { StoreError } from '../port.ts';
import { PROGRESS_TABLE } from './tables.ts';

/** SQL that gives a row where a move into the database was begun and not finished. */
export const unfinishedIn = (catalogue: 'sqlite_schema' | 'pg_tables'): string =>
  catalogue === 'sqlite_schema'
    ? `SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = '${PROGRESS_TABLE}'`
    : `SELECT 1 WHERE to_regclass('${PROGRESS_TABLE}') IS NOT NULL`;

/** What is said instead of opening a database that holds half of something. */
export const unfinishedMove = (): StoreError =>
  new StoreError(
    'failed',
    'Homes are being moved into this database and not all of it is there yet: run the same coomb migrate again, it goes on where it stopped.',
  );

/** @throws StoreError unless the move that was begun is the one that goes on */
export function refuseOther(begun: string, what: string): void {
  if (begun === what) return;
  throw new StoreError(
    'already-there',
    `Another move into this database was begun and not finished: ${begun}. Finish that one, or take an empty database.`,
  );
}
