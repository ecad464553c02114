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
  `
  -- one look a statement whether the series are there: a foreign key looks once a row, which is half of what a commit costs.
  -- A series that readings may belong to stays under its number for as long
  ALTER TABLE reading DROP CONSTRAINT reading_dwelling_id_series_id_fkey;
  CREATE FUNCTION require_series() RETURNS trigger LANGUAGE plpgsql AS $$
  BEGIN
    IF EXISTS (
      SELECT 1 FROM (SELECT DISTINCT dwelling_id, series_id FROM added) AS named
      WHERE NOT EXISTS (SELECT 1 FROM series WHERE series.dwelling_id = named.dwelling_id AND series.id = named.series_id)
    ) THEN
      RAISE EXCEPTION 'a reading belongs to a series of its dwelling' USING ERRCODE = 'foreign_key_violation';
    END IF;
    RETURN NULL;
  END $$;
  CREATE TRIGGER reading_has_a_series AFTER INSERT ON reading REFERENCING NEW TABLE AS added FOR EACH STATEMENT
  EXECUTE FUNCTION require_series();
  CREATE TRIGGER series_keeps_its_number BEFORE UPDATE OF dwelling_id, id ON series FOR EACH ROW
  WHEN (NEW.dwelling_id IS DISTINCT FROM OLD.dwelling_id OR NEW.id IS DISTINCT FROM OLD.id)
  EXECUTE FUNCTION refuse('a series keeps its number');
  CREATE TRIGGER series_is_never_deleted BEFORE DELETE ON series FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('a series is never deleted');
  `,
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
