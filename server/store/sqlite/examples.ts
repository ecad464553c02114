import { wholeLimit } from '../arguments.ts';
import { inOrderOfRemoval, noExample, notLeaving, type OwnedTable } from '../example-tables.ts';
import type { Dwelling, ExampleStore, New } from '../port.ts';
import { type Connection, write } from './database.ts';
import type { SeriesFinder } from './series-finder.ts';

/**
 * Examples are the only dwellings that can be removed. The schema holds that, not this file: what is an example is said
 * when the dwelling is added and never changes after, and the triggers that keep readings and calibrations for ever let go
 * of those of an example that is being removed, and of no other.
 */
export function exampleStore(
  db: Connection,
  finder: SeriesFinder,
  add: (dwelling: New<Dwelling>, kind: 'example') => Promise<Dwelling>,
): ExampleStore {
  return {
    addExample: (dwelling) => add(dwelling, 'example'),

    async examples() {
      return db
        .prepare<[], { dwellingId: number; leaving: number }>(
          `SELECT id AS "dwellingId", leaving FROM dwelling WHERE kind = 'example' ORDER BY id`,
        )
        .all()
        .map(({ dwellingId, leaving }) => ({ dwellingId, leaving: leaving === 1 }));
    },

    async beginRemoval(dwellingId) {
      write(db, () => {
        const { changes } = db
          .prepare(`UPDATE dwelling SET leaving = 1 WHERE id = ? AND kind = 'example'`)
          .run(dwellingId);
        if (changes === 0) throw noExample(dwellingId);
        db.prepare('DELETE FROM stale_hour WHERE dwelling_id = ?').run(dwellingId);
      });
    },

    async removeSome(dwellingId, most) {
      wholeLimit(most);
      return write(db, () => {
        const leaving = db.prepare(`SELECT 1 FROM dwelling WHERE id = ? AND kind = 'example' AND leaving = 1`);
        if (leaving.get(dwellingId) === undefined) throw notLeaving(dwellingId);
        let left = most;
        for (const { table, refersToItself } of ofDwellings(db)) {
          if (left <= 0) return 'more';
          // whole where its rows refer to each other; such tables (places) are small
          const limit = refersToItself ? -1 : left;
          left -= db.prepare(`DELETE FROM "${table}" WHERE dwelling_id = ? LIMIT ?`).run(dwellingId, limit).changes;
        }
        if (left <= 0) return 'more';
        db.prepare('DELETE FROM dwelling WHERE id = ?').run(dwellingId);
        finder.forget();
        return 'gone';
      });
    },
  };
}

/** Every table whose rows belong to a dwelling, in the order in which they can be emptied. */
function ofDwellings(db: Connection): OwnedTable[] {
  const tables = db
    .prepare<[], string>(
      `SELECT list.name FROM pragma_table_list AS list, pragma_table_info(list.name) AS info
       WHERE list.schema = 'main' AND list.type = 'table' AND info.name = 'dwelling_id' ORDER BY list.name`,
    )
    .pluck()
    .all();
  const referred = db.prepare<[string], string>('SELECT DISTINCT "table" FROM pragma_foreign_key_list(?)').pluck();
  return inOrderOfRemoval(new Map(tables.map((table) => [table, referred.all(table)])));
}
