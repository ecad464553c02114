import { describe, expect, test } from 'vitest';
import { connect } from '../../../server/store/sqlite/database.ts';
import { isThousandths } from '../../../server/store/sqlite/value.ts';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { appendReadings, givenDwelling, NEW_YEAR, readingOf } from '../contract/given.ts';
import { newDatabasePath, withDatabase } from './folder.ts';

async function givenReadings(...values: number[]): Promise<string> {
  const path = newDatabasePath();
  const store = await openSqliteStore(path);
  const home = await givenDwelling(store);
  const readings = values.map((value, k) => readingOf(home, 'a', 'temperature', NEW_YEAR + k, value));
  await appendReadings(store, [...readings, { ...readings[0]!, value: 99 }]);
  await store.close();
  return path;
}

describe('raw readings in the file', () => {
  test.each([
    ['changed', 'UPDATE reading SET value = 0', /never changed/],
    ['moved in time', 'UPDATE reading SET time = time + 1', /never changed/],
    ['deleted', 'DELETE FROM reading', /never deleted/],
    ['replaced', `REPLACE INTO reading VALUES (1, 1, ${NEW_YEAR}, 5)`, /never (changed|deleted)/],
    ['lost with their series', 'DELETE FROM series', /FOREIGN KEY/],
    ['of a series that does not exist', 'INSERT INTO reading VALUES (1, 9, 0, 5)', /FOREIGN KEY/],
    ['text', `INSERT INTO reading VALUES (1, 1, 0, 'warm')`, /CHECK/],
    ['nothing', 'INSERT INTO reading VALUES (1, 1, 0, NULL)', /NOT NULL/],
  ])('cannot be %s by any statement of the program', async (_, sql, message) => {
    const path = await givenReadings(20, 1 / 3);
    const db = connect(path);
    try {
      const dump = () => db.prepare('SELECT * FROM reading').raw().all();
      const before = dump();
      expect(() => db.exec(sql)).toThrow(message);
      expect(dump()).toEqual(before);
    } finally {
      db.close();
    }
  });

  test('are whole thousandths where that loses nothing, and floating point where it would', async () => {
    const path = await givenReadings(20, 21.125, -0.001, 0, 1 / 3, 0.0005, 2.0001);
    const stored = withDatabase(path, (db) => db.prepare('SELECT typeof(value), value FROM reading').raw().all());
    expect(stored).toEqual([
      ['integer', 20_000],
      ['integer', 21_125],
      ['integer', -1],
      ['integer', 0],
      ['real', 1 / 3],
      ['real', 0.0005],
      ['real', 2.0001],
    ]);
    // beyond 2^53 thousandths are no longer told apart
    expect(isThousandths(2 ** 53)).toBe(false);
    expect(isThousandths(1e300)).toBe(false);
  });
});
