import { describe, expect, test } from 'vitest';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { appendReadings, dwellingCalled, givenDwelling, NEW_YEAR, readingOf } from '../contract/given.ts';
import { newDatabasePath, withDatabase } from './folder.ts';

describe('the schema, whoever writes to it,', () => {
  test('keeps the readings of a home from every way of deleting them', async () => {
    const path = newDatabasePath();
    const store = await openSqliteStore(path);
    const home = await givenDwelling(store);
    const example = await store.addExample(dwellingCalled('example'));
    for (const dwelling of [home, example]) {
      await appendReadings(store, [readingOf(dwelling, 'one', 'temperature', NEW_YEAR, 20)]);
    }
    await store.close();
    withDatabase(path, (db) => {
      db.pragma('foreign_keys = ON');
      db.pragma('recursive_triggers = ON');
      const forbidden = [
        'DELETE FROM reading WHERE dwelling_id = 1',
        // an example is not open either until its removal was begun
        'DELETE FROM reading WHERE dwelling_id = 2',
        `UPDATE dwelling SET kind = 'example' WHERE id = 1`,
        'UPDATE dwelling SET leaving = 1 WHERE id = 1',
        `UPDATE dwelling SET kind = 'example', leaving = 1 WHERE id = 1`,
        'UPDATE dwelling SET id = 7 WHERE id = 1',
        'DELETE FROM dwelling WHERE id = 1',
        'DELETE FROM dwelling WHERE id = 2',
        `INSERT OR REPLACE INTO dwelling
           SELECT id, slug, name, zone, pitch_deg, slope_length_mm, room_height_mm, lining_thickness_mm,
             loft_insulation_mm, eaves_gap_mm, 'example', 1 FROM dwelling WHERE id = 1`,
        'UPDATE reading SET dwelling_id = 2 WHERE dwelling_id = 1',
      ];
      for (const statement of forbidden) expect(() => db.exec(statement), statement).toThrow();
      db.exec('UPDATE dwelling SET leaving = 1 WHERE id = 2');
      db.exec('DELETE FROM reading WHERE dwelling_id = 2');
      expect(() => db.exec('DELETE FROM reading')).toThrow(/never deleted/);
      expect(db.prepare('SELECT dwelling_id FROM reading').pluck().all()).toEqual([1]);
      expect(db.prepare('SELECT kind, leaving FROM dwelling WHERE id = 1').raw().get()).toEqual(['home', 0]);
    });
  });

  test('has no table that a removed example leaves a row in', async () => {
    const path = newDatabasePath();
    const store = await openSqliteStore(path);
    await givenDwelling(store);
    const example = await store.addExample(dwellingCalled('example'));
    await appendReadings(store, [readingOf(example, 'one', 'temperature', NEW_YEAR, 20)]);
    await store.beginRemoval(example.id);
    while ((await store.removeSome(example.id, 1)) === 'more');
    await store.close();
    withDatabase(path, (db) => {
      const tables = db
        .prepare<[], string>(
          `SELECT list.name FROM pragma_table_list AS list, pragma_table_info(list.name) AS info
           WHERE list.schema = 'main' AND info.name = 'dwelling_id'`,
        )
        .pluck()
        .all();
      expect(tables.length).toBeGreaterThan(12);
      for (const table of tables) {
        const left = db.prepare(`SELECT count(*) FROM "${table}" WHERE dwelling_id = ?`).pluck().get(example.id);
        expect({ table, left }).toEqual({ table, left: 0 });
      }
      expect(db.pragma('foreign_key_check')).toEqual([]);
    });
  });
});
