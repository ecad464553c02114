import type { StoreInspection } from '../port.ts';
import { connect } from './database.ts';
import { toStoreError } from './errors.ts';
import { migrations, readVersion } from './migrations.ts';

/**
 * Looks at the schema without changing it; null: there is none yet. What is damaged on the disk of the server, its own
 * tools tell.
 *
 * @throws StoreError when the server cannot be reached or does not let us in
 */
export async function inspectPostgres(url: string): Promise<StoreInspection | null> {
  const db = connect({ url, connections: 1 });
  try {
    const schemaVersion = await readVersion(db);
    return schemaVersion === 0 ? null : { schemaVersion, knownVersion: migrations.length, damage: [] };
  } catch (error) {
    throw toStoreError(error);
  } finally {
    await db.close();
  }
}
