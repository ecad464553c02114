import { StoreError } from '../port.ts';
import type { MovedRow, TableProgress } from './end.ts';
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

/** A row of the table of progress; that without a name says in `after` which move it is. */
export interface ProgressRow {
  readonly name: string;
  readonly after: string | null;
  readonly rows: number;
}

/** @throws StoreError unless the move that was begun is the one that goes on */
export function progressOf(kept: readonly ProgressRow[], what: string): Map<string, TableProgress> {
  const begun = kept.find(({ name }) => name === '')?.after ?? '';
  if (begun !== what) {
    throw new StoreError(
      'already-there',
      `Another move into this database was begun and not finished: ${begun}. Finish that one, or take an empty database.`,
    );
  }
  const tables = kept.filter(({ name }) => name !== '');
  return new Map(
    tables.map(({ name, after, rows }) => [
      name,
      { after: after === null ? null : (JSON.parse(after) as MovedRow), rows },
    ]),
  );
}
