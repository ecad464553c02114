import type { StorePlace } from './engine.ts';
import type { MoveSource, MoveTarget } from './moving/end.ts';
import { type Moved, type MoveOrder, move } from './moving/move.ts';
import { postgresTarget, withPostgresSource } from './moving/postgres-end.ts';
import { sqliteSource, sqliteTarget } from './moving/sqlite-end.ts';
import { toStoreError as fromPostgres } from './postgres/errors.ts';
import { toStoreError as fromSqlite } from './sqlite/database.ts';

export type { Moved, MoveStep } from './moving/move.ts';

/**
 * Moves everything, or one dwelling, from one engine into an empty database of another, and compares both afterwards.
 * What was interrupted goes on where it stopped when it is asked for again.
 *
 * @throws StoreError as {@link move}, or when one of them cannot be opened
 */
export async function moveStore(from: StorePlace, to: StorePlace, order: MoveOrder): Promise<Moved> {
  try {
    const target: MoveTarget = to.engine === 'sqlite' ? sqliteTarget(to.file) : await postgresTarget(to.url);
    try {
      const work = (source: MoveSource): Promise<Moved> => move(source, target, order);
      if (from.engine === 'postgres') return await withPostgresSource(from.url, work);
      const source = sqliteSource(from.file);
      try {
        return await work(source);
      } finally {
        await source.close();
      }
    } finally {
      await target.close();
    }
  } catch (error) {
    throw fromPostgres(fromSqlite(error));
  }
}
