import { describe, expect, test } from 'vitest';
import { connect } from '../../../server/store/sqlite/database.ts';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { appendReadings, givenDwelling, NEW_YEAR, readingOf } from '../contract/given.ts';
import { newDatabasePath } from './folder.ts';

/** Two calibrations of one series, the first of them withdrawn. */
async function givenCalibrations(): Promise<string> {
  const path = newDatabasePath();
  const store = await openSqliteStore(path);
  const home = await givenDwelling(store);
  await appendReadings(store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 20)]);
  const one = {
    seriesId: 1,
    from: NEW_YEAR,
    method: 'ice-point' as const,
    points: [{ reading: 0.25, reference: 0 }],
    uncertainty: 0.05,
    sharedSource: null,
    sharedUncertainty: 0,
    note: '',
    madeAt: NEW_YEAR,
  };
  await store.addCalibrations(home.id, [one, one]);
  await store.withdrawCalibration(home.id, 1, NEW_YEAR + 1);
  await store.close();
  return path;
}

describe('calibrations in the file', () => {
  test.each([
    ['changed', 'UPDATE calibration SET reference_1 = 1', /never changed/],
    ['given a second point', 'UPDATE calibration SET reading_2 = 9, reference_2 = 9', /never changed/],
    ['given another note', `UPDATE calibration SET note = 'no' WHERE id = 2`, /never changed/],
    ['withdrawn a second time', 'UPDATE calibration SET withdrawn_at = 9', /withdrawn once/],
    ['put back in use', 'UPDATE calibration SET withdrawn_at = NULL', /withdrawn once/],
    ['deleted', 'DELETE FROM calibration', /never deleted/],
    ['lost with their series', 'DELETE FROM series', /never deleted|FOREIGN KEY/],
  ])('cannot be %s by any statement of the program', async (_, sql, message) => {
    const db = connect(await givenCalibrations());
    try {
      const dump = () => db.prepare('SELECT * FROM calibration').raw().all();
      const before = dump();
      expect(before).toHaveLength(2);
      expect(() => db.exec(sql)).toThrow(message);
      expect(dump()).toEqual(before);
    } finally {
      db.close();
    }
  });
});
