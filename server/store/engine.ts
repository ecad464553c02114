import { existsSync } from 'node:fs';
import { type Store, StoreError, type StoreInspection } from './port.ts';
import type { InspectionDepth } from './sqlite/inspect.ts';

export type { InspectionDepth };

/** Where a store is: a file, or a database on a server. Plain data, so that a process can be told. */
export type StorePlace =
  | { readonly engine: 'sqlite'; readonly file: string }
  | {
      readonly engine: 'postgres';
      /** holds a password, most likely: never to be shown or logged */
      readonly url: string;
    };

/** The one place where an engine is chosen. @throws StoreError as the engines do */
export const openStoreAt = async (place: StorePlace): Promise<Store> =>
  // only the engine that is wanted is read in
  place.engine === 'sqlite'
    ? (await import('./sqlite.ts')).openSqliteStore(place.file)
    : (await import('./postgres.ts')).openPostgresStore({ url: place.url });

/**
 * Looks at a store without changing it, whatever version its schema has; null: there is none yet.
 *
 * @throws StoreError when it cannot be opened
 */
export async function inspectStoreAt(place: StorePlace, depth: InspectionDepth): Promise<StoreInspection | null> {
  if (place.engine === 'postgres') return (await import('./postgres/inspect.ts')).inspectPostgres(place.url);
  return existsSync(place.file) ? (await import('./sqlite/inspect.ts')).inspectSqliteFile(place.file, depth) : null;
}

/** What to do in the place of a backup file where the readings are in a database on a server. */
export const backupElsewhere =
  'Readings are kept in PostgreSQL (COOMB_DATABASE_URL), whose own tools back it up while coomb runs: ' +
  'pg_dump --format=custom --file=coomb.dump DATABASE. Keep a copy of the data folder beside it: it holds the key that signs evidence packs.';

export const restoreElsewhere =
  'Readings are kept in PostgreSQL (COOMB_DATABASE_URL), whose own tools put a backup back: stop coomb, then ' +
  'createdb DATABASE and pg_restore --dbname=DATABASE coomb.dump, and put the copy of the data folder back beside it. ' +
  'Leave COOMB_DATABASE_URL out to restore a backup that coomb made.';

/** @throws StoreError with what to do instead, unless the store is a file of ours */
export function requireFile(place: StorePlace, whatInstead: string): string {
  if (place.engine === 'sqlite') return place.file;
  throw new StoreError('failed', whatInstead);
}
