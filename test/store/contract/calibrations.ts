import { describe, expect, test } from 'vitest';
import { quantities } from '../../../server/physics/quantities.ts';
import { keepHours } from '../../../server/store/hour-keeper.ts';
import type { CalibrationRecord, Dwelling, Store } from '../../../server/store/port.ts';
import {
  appendReadings,
  DAY,
  forgetStaleHours,
  givenDwelling,
  givenWatchedPlace,
  HOUR,
  MINUTE,
  NEW_YEAR,
  readingOf,
  staleHoursOf,
} from './given.ts';
import type { UnderTest } from './under-test.ts';

const ALWAYS = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY] as const;

type NewCalibration = Parameters<Store['addCalibrations']>[1][number];

const calibrationOf = (seriesId: number, change: Partial<NewCalibration> = {}): NewCalibration => ({
  seriesId,
  from: NEW_YEAR,
  method: 'side-by-side',
  points: [{ reading: 20.25, reference: 20 }],
  uncertainty: 0.125,
  sharedSource: 'side-by-side run of 2025-12-30',
  sharedUncertainty: 0.1,
  note: 'in the biscuit tin',
  madeAt: NEW_YEAR - 2 * DAY,
  ...change,
});

/** A room watched by one sensor, temperature (series 1) and humidity (series 2) every half hour for a number of hours. */
async function givenRoom(store: Store, hours: number, temperature = 20, humidity = 50): Promise<Dwelling> {
  const home = await givenDwelling(store);
  await givenWatchedPlace(store, home, 'room-air', 'room');
  await appendReadings(
    store,
    Array.from({ length: 2 * hours }, (_, k) => NEW_YEAR + k * 30 * MINUTE).flatMap((time) => [
      readingOf(home, 'room', 'temperature', time, temperature),
      readingOf(home, 'room', 'humidity', time, humidity),
    ]),
  );
  await store.setInterval(home.id, 1, 1800);
  await store.setInterval(home.id, 2, 1800);
  return home;
}

const recordsOf = (store: Store, home: Dwelling) => store.hourRecords(home.id, 1, ...ALWAYS);

/** Every value in full, so that no rounding and no sign of zero can hide a difference. */
const inFull = async (store: Store, home: Dwelling): Promise<string> =>
  JSON.stringify(await recordsOf(store, home), (_, value) => (Object.is(value, -0) ? '-0' : value));

const hourOf = (k: number): number => NEW_YEAR + k * HOUR;

export function calibrationContract(given: UnderTest): void {
  describe('calibrations', () => {
    test('are found again as they were made, in order, also after the store was closed', async () => {
      const home = await givenRoom(given.store, 1);
      const line = calibrationOf(2, {
        method: 'salt',
        points: [
          { reading: 35.1, reference: 33.07 },
          { reading: 73.2, reference: 75.47 },
        ],
        sharedSource: null,
        sharedUncertainty: 0,
        note: '',
      });
      const added = await given.store.addCalibrations(home.id, [calibrationOf(1), line]);
      expect(added).toEqual([
        { ...calibrationOf(1), id: 1, dwellingId: home.id, withdrawnAt: null },
        { ...line, id: 2, dwellingId: home.id, withdrawnAt: null },
      ]);
      await given.reopen();
      expect(await given.store.calibrations(home.id)).toEqual(added);
    });

    test('belong to one dwelling', async () => {
      const home = await givenRoom(given.store, 1);
      const other = await givenDwelling(given.store, 'next-door');
      const [added] = await given.store.addCalibrations(home.id, [calibrationOf(1)]);
      expect(await given.store.calibrations(other.id)).toEqual([]);
      await expect(given.store.addCalibrations(other.id, [calibrationOf(1)])).rejects.toMatchObject({
        fault: 'not-found',
      });
      await expect(given.store.withdrawCalibration(other.id, added!.id, NEW_YEAR)).rejects.toMatchObject({
        fault: 'not-found',
      });
      await expect(given.store.calibrations(99)).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('of a run are kept all together or not at all', async () => {
      const home = await givenRoom(given.store, 1);
      await keepHours(given.store);
      await expect(given.store.addCalibrations(home.id, [calibrationOf(1), calibrationOf(99)])).rejects.toMatchObject({
        fault: 'not-found',
      });
      expect(await given.store.calibrations(home.id)).toEqual([]);
      expect(await staleHoursOf(given.store, home)).toEqual([]);
    });

    test.each<[string, Partial<NewCalibration>, RegExp]>([
      ['no point', { points: [] }, /one point .* or two .*, not 0/],
      ['three points', { points: [1, 2, 3].map((x) => ({ reading: x, reference: x })) }, /not 3/],
      ['a reading that is no number', { points: [{ reading: Number.NaN, reference: 20 }] }, /reading .* NaN/],
      ['a reference no home can have', { points: [{ reading: 20, reference: 200 }] }, /reference .* 200/],
      [
        'two points with one reading',
        {
          points: [
            { reading: 20, reference: 20 },
            { reading: 20, reference: 21 },
          ],
        },
        /reading 20 °C/,
      ],
      [
        'readings and references mixed up',
        {
          points: [
            { reading: 0, reference: 20 },
            { reading: 20, reference: 0 },
          ],
        },
        /slope -1\.00.*mixed up/,
      ],
      ['no uncertainty', { uncertainty: 0 }, /uncertainty is 0 °C; it must be above 0/],
      ['more shared uncertainty than there is', { sharedUncertainty: 0.2 }, /sharedUncertainty is 0\.2 °C/],
      ['shared uncertainty and nobody to share it', { sharedSource: null }, /without a sharedSource/],
      ['another method', { method: 'guess' as 'salt' }, /method is 'guess'; it must be one of/],
      ['a time that is none', { from: 1.5 }, /from is 1\.5 ms/],
    ])('with %s are refused', async (_, change, reason) => {
      const home = await givenRoom(given.store, 1);
      const adding = given.store.addCalibrations(home.id, [calibrationOf(1, change)]);
      await expect(adding).rejects.toThrow(RangeError);
      await expect(adding).rejects.toThrow(reason);
      expect(await given.store.calibrations(home.id)).toEqual([]);
    });

    test('make stale the hours of their series from their beginning to that of the next one, and no others', async () => {
      const home = await givenRoom(given.store, 6);
      const stale = () => staleHoursOf(given.store, home);
      const add = (from: number) => given.store.addCalibrations(home.id, [calibrationOf(1, { from })]);
      await forgetStaleHours(given.store, home);
      const [last] = await add(hourOf(4));
      expect(await stale()).toEqual([4, 5].map(hourOf));
      await forgetStaleHours(given.store, home);
      const [first] = await add(hourOf(2) + 10 * MINUTE);
      // the first half hour of hour 2 has one reading before it and one after
      expect(await stale()).toEqual([2, 3].map(hourOf));
      await forgetStaleHours(given.store, home);
      await given.store.withdrawCalibration(home.id, last!.id, NEW_YEAR);
      expect(await stale()).toEqual([4, 5].map(hourOf));
      await forgetStaleHours(given.store, home);
      await given.store.withdrawCalibration(home.id, first!.id, NEW_YEAR);
      expect(await stale()).toEqual([2, 3, 4, 5].map(hourOf));
    });

    test('correct the hours and leave the readings alone', async () => {
      const home = await givenRoom(given.store, 4);
      await given.store.addCalibrations(home.id, [
        calibrationOf(1, { from: hourOf(1), points: [{ reading: 20, reference: 18.5 }] }),
        calibrationOf(1, { from: hourOf(3), points: [{ reading: 20, reference: 21 }] }),
      ]);
      await keepHours(given.store);
      const records = await recordsOf(given.store, home);
      expect(records.map(({ temperatureMean }) => temperatureMean)).toEqual([20, 18.5, 18.5, 21]);
      expect(records.map(({ humidityMean }) => humidityMean)).toEqual([50, 50, 50, 50]);
      const raw = await given.store.readings(home.id, 1, 0, Number.POSITIVE_INFINITY, 100);
      expect(new Set(raw.map(({ value }) => value))).toEqual(new Set([20]));
    });

    test('apply from the instant they begin, within an hour too, and the last made counts of two from one instant', async () => {
      const home = await givenRoom(given.store, 1);
      await given.store.addCalibrations(home.id, [
        calibrationOf(1, { from: NEW_YEAR + 30 * MINUTE, points: [{ reading: 20, reference: 99 }] }),
        calibrationOf(1, { from: NEW_YEAR + 30 * MINUTE, points: [{ reading: 20, reference: 22 }] }),
      ]);
      await keepHours(given.store);
      const [record] = await recordsOf(given.store, home);
      expect([record!.temperatureMin, record!.temperatureMax]).toEqual([20, 22]);
    });

    test('of two points correct along their line, beyond them too', async () => {
      const home = await givenRoom(given.store, 1, 20, 80);
      const points = [
        { reading: 30, reference: 33 },
        { reading: 70, reference: 75 },
      ];
      await given.store.addCalibrations(home.id, [
        calibrationOf(2, { points, sharedSource: null, sharedUncertainty: 0 }),
      ]);
      await keepHours(given.store);
      // 33 + (80 - 30) 42 / 40
      expect((await recordsOf(given.store, home))[0]!.humidityMean).toBeCloseTo(85.5, 12);
    });

    test.each([
      { humidity: 99, by: 3, wanted: 100, clamped: 2 },
      { humidity: 1, by: -3, wanted: 0, clamped: 0 },
    ])('of a humidity of $humidity by $by stop at $wanted', async ({ humidity, by, wanted, clamped }) => {
      const home = await givenRoom(given.store, 1, 20, humidity);
      await given.store.addCalibrations(home.id, [calibrationOf(2, { points: [{ reading: 50, reference: 50 + by }] })]);
      await keepHours(given.store);
      const [record] = await recordsOf(given.store, home);
      expect(record).toMatchObject({ humidityMean: wanted, humidityClamped: clamped });
    });

    test('cannot carry a reading out of what can be measured', async () => {
      const home = await givenRoom(given.store, 1, -59);
      await given.store.addCalibrations(home.id, [calibrationOf(1, { points: [{ reading: 20, reference: 10 }] })]);
      await keepHours(given.store);
      expect((await recordsOf(given.store, home))[0]!.temperatureMean).toBe(quantities.temperature.low);
    });

    test('withdrawn leave the records as they were before, byte for byte, and stay on record with the first time', async () => {
      const home = await givenRoom(given.store, 5, 19.37, 63.1);
      await keepHours(given.store);
      const before = await inFull(given.store, home);
      const added: CalibrationRecord[] = await given.store.addCalibrations(home.id, [
        calibrationOf(1, { from: hourOf(1) }),
        calibrationOf(2, { from: hourOf(2), points: [{ reading: 50, reference: 53.3 }] }),
      ]);
      await keepHours(given.store);
      expect(await inFull(given.store, home)).not.toBe(before);
      for (const { id } of added) {
        const withdrawn = await given.store.withdrawCalibration(home.id, id, NEW_YEAR + DAY);
        expect(withdrawn).toEqual({ ...added[id - 1], withdrawnAt: NEW_YEAR + DAY });
      }
      await keepHours(given.store);
      expect(await inFull(given.store, home)).toBe(before);
      await given.store.withdrawCalibration(home.id, 1, NEW_YEAR + 9 * DAY);
      expect(await staleHoursOf(given.store, home)).toEqual([]);
      expect((await given.store.calibrations(home.id)).map(({ withdrawnAt }) => withdrawnAt)).toEqual([
        NEW_YEAR + DAY,
        NEW_YEAR + DAY,
      ]);
    });

    test('in force, deleting every hour record and rebuilding gives the same records to the last bit', async () => {
      const home = await givenRoom(given.store, 5, 19.37, 63.1);
      await given.store.addCalibrations(home.id, [
        calibrationOf(1, { from: hourOf(1) + 1 }),
        calibrationOf(2, { from: hourOf(2), points: [{ reading: 50, reference: 53.3 }] }),
        calibrationOf(2, { from: hourOf(4), points: [{ reading: 50, reference: 51.7 }] }),
      ]);
      await keepHours(given.store);
      const together = await inFull(given.store, home);
      await given.store.discardHours(home.id);
      await keepHours(given.store, { chunkHours: 1 });
      expect(await inFull(given.store, home)).toBe(together);
    });
  });
}
