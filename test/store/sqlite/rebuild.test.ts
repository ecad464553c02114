import { expect, test } from 'vitest';
import { keepHours } from '../../../server/store/hour-keeper.ts';
import type { IncomingReading } from '../../../server/store/port.ts';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { appendReadings, givenDwelling, givenWatchedPlace, MINUTE, NEW_YEAR, readingOf } from '../contract/given.ts';
import { newDatabasePath, withDatabase } from './folder.ts';

/** Every value of every hour record as SQL that makes the same value again. */
function dumpOf(path: string): string[] {
  return withDatabase(path, (db) => {
    const columns = db.prepare<[], string>("SELECT name FROM pragma_table_info('hour_record')").pluck().all();
    const quoted = columns.map((name) => `quote(${name})`).join(` || ' ' || `);
    return db.prepare<[], string>(`SELECT ${quoted} FROM hour_record`).pluck().all();
  });
}

test('the table of hour records is the same, value for value, whether built in pieces or all at once', async () => {
  const path = newDatabasePath();
  const store = await openSqliteStore(path);
  const home = await givenDwelling(store);
  const kinds = ['room-air', 'ceiling-surface', 'loft-air', 'outdoor-air', 'behind-lining'] as const;
  for (const [k, kind] of kinds.entries()) await givenWatchedPlace(store, home, kind, `s${k}`);

  // thirds and sevenths, whose sums round differently in another order
  const readings: IncomingReading[] = kinds.flatMap((_, k) =>
    Array.from({ length: 2 * 24 * 12 }, (__, step) => step).flatMap((step) => {
      const time = NEW_YEAR + step * 5 * MINUTE + k * 1000;
      return [
        readingOf(home, `s${k}`, 'temperature', time, 4 * k + Math.sin(step / 40) + (step % 7) / 3),
        readingOf(home, `s${k}`, 'humidity', time, 60 + 5 * k + 20 * Math.sin(step / 30) + (step % 3) / 7),
      ];
    }),
  );
  // a stride that has no divisor in common with the number of readings visits each of them once, far from in order
  const stride = 1009;
  for (let k = 0; k < readings.length; k += 300) {
    const batch = Array.from(
      { length: Math.min(300, readings.length - k) },
      (_, j) => readings[((k + j) * stride) % readings.length]!,
    );
    await appendReadings(store, batch);
    await keepHours(store);
  }
  expect(await store.countReadings(home.id)).toBe(readings.length);
  const inPieces = dumpOf(path);
  expect(inPieces).toHaveLength(kinds.length * 48);
  expect(inPieces.some((row) => /\d\.\d{12,}/.test(row))).toBe(true);

  await store.discardHours(home.id);
  expect(dumpOf(path)).toEqual([]);
  await keepHours(store);
  expect(dumpOf(path)).toEqual(inPieces);
  await store.close();
});
