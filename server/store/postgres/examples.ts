import { wholeLimit } from '../arguments.ts';
import { inOrderOfRemoval, noExample, notLeaving } from '../example-tables.ts';
import type { ExampleStore } from '../port.ts';
import type { Connection, Database } from './database.ts';
import { addDwelling } from './dwellings.ts';
import { isId } from './rows.ts';

/**
 * Examples are the only dwellings that can be removed. As in SQLite the schema holds that, not this file: what is an example
 * is said when the dwelling is added and never changes after, and the triggers let go of what belongs to one that is being
 * removed, and of nothing else.
 */
export function exampleStore(db: Database): ExampleStore {
  return {
    addExample: (dwelling) => addDwelling(db, dwelling, 'example'),

    async examples() {
      const rows = await db.all<{ dwellingId: number; leaving: number }>(
        `SELECT id AS "dwellingId", leaving FROM dwelling WHERE kind = 'example' ORDER BY id`,
      );
      return rows.map(({ dwellingId, leaving }) => ({ dwellingId, leaving: leaving === 1 }));
    },

    async beginRemoval(dwellingId) {
      if (!isId(dwellingId)) throw noExample(dwellingId);
      await db.write(async (tx) => {
        const begun = await tx.run(`UPDATE dwelling SET leaving = 1 WHERE id = $1 AND kind = 'example'`, [dwellingId]);
        if (begun === 0) throw noExample(dwellingId);
        await tx.run('DELETE FROM stale_hour WHERE dwelling_id = $1', [dwellingId]);
      });
    },

    async removeSome(dwellingId, most) {
      wholeLimit(most);
      if (!isId(dwellingId)) throw notLeaving(dwellingId);
      return db.write(async (tx) => {
        // locked, so that of several processes that remove it one does so at a time
        const leaving = await tx.first(
          `SELECT 1 FROM dwelling WHERE id = $1 AND kind = 'example' AND leaving = 1 FOR UPDATE`,
          [dwellingId],
        );
        if (leaving === undefined) throw notLeaving(dwellingId);
        let left = most;
        for (const { table, refersToItself, key } of await ofDwellings(tx)) {
          if (left <= 0) return 'more';
          const removed = refersToItself
            ? tx.run(`DELETE FROM ${table} WHERE dwelling_id = $1`, [dwellingId])
            : tx.run(
                `DELETE FROM ${table} WHERE dwelling_id = $1
                   AND (${key}) IN (SELECT ${key} FROM ${table} WHERE dwelling_id = $1 LIMIT $2)`,
                [dwellingId, left],
              );
          left -= await removed;
        }
        if (left <= 0) return 'more';
        await tx.run('DELETE FROM dwelling_turn WHERE dwelling_id = $1', [dwellingId]);
        await tx.run('DELETE FROM dwelling WHERE id = $1', [dwellingId]);
        return 'gone';
      });
    },
  };
}

interface TableRow {
  readonly table: string;
  readonly parents: string[];
  /** columns of the primary key, by commas */
  readonly key: string;
}

/**
 * Every table whose rows belong to a dwelling, detached partitions too, in the order in which they can be emptied. The turn
 * goes last of all, with the dwelling: whoever waits for it must find it until then.
 */
async function ofDwellings(db: Connection): Promise<{ table: string; refersToItself: boolean; key: string }[]> {
  const rows = await db.all<TableRow>(
    `SELECT pg_class.oid::regclass::text AS "table",
       (SELECT coalesce(json_agg(DISTINCT confrelid::regclass::text), '[]') FROM pg_constraint
        WHERE conrelid = pg_class.oid AND contype = 'f') AS parents,
       (SELECT string_agg(quote_ident(attname), ', ' ORDER BY place)
        FROM pg_constraint, unnest(conkey) WITH ORDINALITY AS key (number, place), pg_attribute
        WHERE conrelid = pg_class.oid AND contype = 'p' AND attrelid = pg_class.oid AND attnum = number) AS key
     FROM pg_class JOIN pg_attribute ON attrelid = pg_class.oid AND attname = 'dwelling_id'
     WHERE relkind IN ('r', 'p') AND NOT relispartition AND relnamespace = current_schema()::regnamespace
       AND relname <> 'dwelling_turn' ORDER BY relname`,
  );
  const keys = new Map(rows.map(({ table, key }) => [table, key]));
  return inOrderOfRemoval(new Map(rows.map(({ table, parents }) => [table, parents]))).map((owned) => ({
    ...owned,
    key: keys.get(owned.table)!,
  }));
}
