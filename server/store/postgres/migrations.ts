import { StoreError } from '../port.ts';
import { programVersion } from '../program-version.ts';
import type { Connection, Database } from './database.ts';
import { edgePartitions, LOCKS } from './partitions.ts';
import { portfolioSchema } from './portfolio-schema.ts';
import { firstSchema } from './schema.ts';

/** Each entry takes the schema from its index to the next version. An entry that has been released never changes. */
export const migrations: readonly string[] = [
  `${firstSchema}\n${edgePartitions}`,
  `
  -- messages that were not kept because quarantine held as much as it may, since it was last emptied
  CREATE TABLE quarantine_not_kept (
    sender text COLLATE "C" PRIMARY KEY,
    messages bigint NOT NULL,
    first_at bigint NOT NULL,
    last_at bigint NOT NULL
  );
  `,
  portfolioSchema,
];

/**
 * Brings the schema to the version this program knows, one transaction a step, under a lock: of several processes that
 * start at once one does the work and the others find it done.
 *
 * @throws StoreError `newer-schema` when the schema is of a newer program; nothing is changed then
 */
export async function migrate(db: Database, steps: readonly string[] = migrations): Promise<void> {
  refuseNewer(await readVersion(db), steps.length);
  for (const [from, step] of steps.entries()) {
    await db.write(async (tx) => {
      await tx.run('SELECT pg_advisory_xact_lock($1, $2)', [LOCKS.family, LOCKS.migrations]);
      // read under the lock: another process may have taken this step meanwhile
      if ((await readVersion(tx)) !== from) return;
      if (from === 0) {
        await refuseForeign(tx);
        await tx.run(
          'CREATE TABLE migration (version integer PRIMARY KEY, applied_at text NOT NULL, program text NOT NULL)',
        );
      }
      await tx.run(step);
      await tx.run('INSERT INTO migration VALUES ($1, $2, $3)', [from + 1, new Date().toISOString(), programVersion()]);
    });
  }
}

/** Version of the schema; 0: there is none yet. */
export async function readVersion(connection: Connection): Promise<number> {
  const { there } = (await connection.first<{ there: boolean }>(
    "SELECT to_regclass('migration') IS NOT NULL AS there",
  ))!;
  if (!there) return 0;
  const { version } = (await connection.first<{ version: number }>(
    'SELECT coalesce(max(version), 0) AS version FROM migration',
  ))!;
  return version;
}

function refuseNewer(found: number, known: number): void {
  if (found <= known) return;
  throw new StoreError(
    'newer-schema',
    `The database has schema version ${found}; this program knows versions up to ${known}. ` +
      'Start a newer version of the program, or restore a backup made before the upgrade. Nothing has been changed.',
  );
}

/** Tables that are no extension's and were there before ours are another program's. */
async function refuseForeign(tx: Connection): Promise<void> {
  const foreign = await tx.first<{ name: string }>(
    `SELECT relname AS name FROM pg_class WHERE relnamespace = current_schema()::regnamespace AND relkind IN ('r', 'p')
       AND NOT EXISTS (SELECT 1 FROM pg_depend WHERE classid = 'pg_class'::regclass AND objid = pg_class.oid AND deptype = 'e')
     LIMIT 1`,
  );
  if (foreign === undefined) return;
  throw new StoreError(
    'failed',
    `The database holds tables of another program, such as ${foreign.name}: give coomb a database of its own. ` +
      'Nothing has been changed.',
  );
}
