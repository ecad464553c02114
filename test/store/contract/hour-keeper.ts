import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PlaceKind } from '../../../server/analysis/vocabulary.ts';
import { quantities } from '../../../server/physics/quantities.ts';
import { intervalOf, keepHours } from '../../../server/store/hour-keeper.ts';
import type { IncomingReading, Store } from '../../../server/store/port.ts';
import {
  appendReadings,
  DAY,
  givenDwelling,
  givenPlace,
  givenWatchedPlace,
  HOUR,
  MINUTE,
  NEW_YEAR,
  readingOf,
  staleHoursOf,
} from './given.ts';
import type { UnderTest } from './under-test.ts';

const ALWAYS = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY] as const;

async function allRecords(store: Store, dwellingId: number) {
  const places = await store.places(dwellingId);
  return Promise.all(places.map(({ id }) => store.hourRecords(dwellingId, id, ...ALWAYS)));
}

/** Every value in full, so that no rounding and no sign of zero can hide a difference. */
const inFull = async (store: Store, dwellingId: number): Promise<string> =>
  JSON.stringify(await allRecords(store, dwellingId), (_, value) => (Object.is(value, -0) ? '-0' : value));

export function hourKeeperContract(given: UnderTest): void {
  describe('keeping hours', () => {
    test('turns readings into hour records of the place where the sensor stood, and leaves nothing stale', async () => {
      const home = await givenDwelling(given.store);
      const { place, sensor } = await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      const room = await givenPlace(given.store, home);
      await given.store.placeSensor(home.id, sensor.id, room.id, NEW_YEAR + HOUR + 30 * MINUTE);
      const readings = Array.from({ length: 18 }, (_, k) => k).flatMap((k) => [
        readingOf(home, 'a', 'temperature', NEW_YEAR + k * 10 * MINUTE, 10 + k),
        readingOf(home, 'a', 'humidity', NEW_YEAR + k * 10 * MINUTE, 60),
      ]);
      await appendReadings(given.store, readings);
      expect(await keepHours(given.store)).toEqual({ hours: 3, records: 4, learned: 2 });
      expect(await given.store.countStaleHours()).toBe(0);
      const [inLoft, inRoom] = await allRecords(given.store, home.id);
      // means of 10 to 15 and of 16 to 18; of 19 to 21 and of 22 to 27
      expect(inLoft!.map(({ hour, temperatureMean }) => [hour, temperatureMean])).toEqual([
        [NEW_YEAR, 12.5],
        [NEW_YEAR + HOUR, 17],
      ]);
      expect(inRoom!.map(({ hour, temperatureMean }) => [hour, temperatureMean])).toEqual([
        [NEW_YEAR + HOUR, 20],
        [NEW_YEAR + 2 * HOUR, 24.5],
      ]);
      expect(inLoft!.map(({ temperatureCoverage }) => temperatureCoverage)).toEqual([1, 0.5]);
      expect(inLoft![0]!.placeId).toBe(place.id);
    });

    test('rebuilds nothing that did not change', async () => {
      const home = await givenDwelling(given.store);
      await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      const hourly = Array.from({ length: 100 }, (_, k) =>
        readingOf(home, 'a', 'temperature', NEW_YEAR + k * HOUR, k % 7),
      );
      await appendReadings(given.store, hourly);
      expect((await keepHours(given.store)).hours).toBe(100);
      expect(await keepHours(given.store)).toEqual({ hours: 0, records: 0, learned: 0 });
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR + 50 * HOUR + 1, 5)]);
      expect(await keepHours(given.store)).toEqual({ hours: 1, records: 1, learned: 0 });
    });

    test('takes the records of an hour away when its sensor turns out to have stood nowhere', async () => {
      const home = await givenDwelling(given.store);
      const { sensor } = await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 1)]);
      await keepHours(given.store);
      expect((await allRecords(given.store, home.id)).flat()).toHaveLength(1);
      await given.store.placeSensor(home.id, sensor.id, null, 0);
      expect(await keepHours(given.store)).toMatchObject({ hours: 1, records: 0 });
      expect((await allRecords(given.store, home.id)).flat()).toEqual([]);
    });

    test('counts humidity over 100 % as 100, says so, and keeps the reading as it came', async () => {
      const home = await givenDwelling(given.store);
      const { place } = await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      const values = [99, 101, 104.5, 100];
      await appendReadings(
        given.store,
        values.flatMap((value, k) => [
          readingOf(home, 'a', 'temperature', NEW_YEAR + k * 15 * MINUTE, 5),
          readingOf(home, 'a', 'humidity', NEW_YEAR + k * 15 * MINUTE, value),
        ]),
      );
      await keepHours(given.store);
      const [record] = await given.store.hourRecords(home.id, place.id, ...ALWAYS);
      expect(record).toMatchObject({ humidityMean: 99.75, humidityMax: 100, humidityClamped: 2, humidityCount: 4 });
      const columns = await given.store.seriesColumns(home.id, ...ALWAYS);
      expect([...columns.find(({ quantity }) => quantity === 'humidity')!.values]).toEqual(values);
    });

    test('serves every dwelling in one call and tells how far it is', async () => {
      for (const slug of ['first', 'second']) {
        const home = await givenDwelling(given.store, slug);
        await givenWatchedPlace(given.store, home, 'loft-air', 'a');
        await appendReadings(
          given.store,
          [0, 1, 2, 24, 25].map((hour) => readingOf(home, 'a', 'temperature', NEW_YEAR + hour * HOUR, 1)),
        );
      }
      const steps: [number, number][] = [];
      const kept = await keepHours(given.store, {
        chunkHours: 2,
        onProgress: ({ done, total }) => steps.push([done, total]),
      });
      expect(kept).toMatchObject({ hours: 10, records: 10 });
      expect(steps).toEqual([2, 4, 5, 7, 9, 10].map((done) => [done, 10]));
    });

    test('can be ended early and goes on where it left off', async () => {
      const home = await givenDwelling(given.store);
      await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      await appendReadings(
        given.store,
        Array.from({ length: 10 }, (_, hour) => readingOf(home, 'a', 'temperature', NEW_YEAR + hour * HOUR, hour)),
      );
      const closing = new AbortController();
      const rebuilt: number[][] = [];
      const onRebuilt = (_: number, from: number, to: number) => {
        rebuilt.push([from, to].map((time) => (time - NEW_YEAR) / HOUR));
      };
      const options = { chunkHours: 4, onRebuilt };
      const onProgress = () => closing.abort();
      expect(await keepHours(given.store, { ...options, onProgress, signal: closing.signal })).toMatchObject({
        hours: 4,
      });
      expect(await given.store.countStaleHours()).toBe(6);
      expect(await keepHours(given.store, options)).toMatchObject({ hours: 6, learned: 0 });
      expect(rebuilt).toEqual([
        [0, 4],
        [4, 8],
        [8, 10],
      ]);
    });

    test('leaves an hour stale into which a reading falls while its records are built', async () => {
      const home = await givenDwelling(given.store);
      const { place } = await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 10)]);
      let interrupted = 0;
      const interruptedStore: Store = {
        ...given.store,
        async seriesColumns(...span) {
          const columns = await given.store.seriesColumns(...span);
          if (interrupted++ === 0) {
            await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR + MINUTE, 20)]);
          }
          return columns;
        },
      };
      await keepHours(interruptedStore);
      expect(await staleHoursOf(given.store, home)).toEqual([NEW_YEAR]);
      await keepHours(given.store);
      expect(await staleHoursOf(given.store, home)).toEqual([]);
      expect(await given.store.hourRecords(home.id, place.id, ...ALWAYS)).toMatchObject([{ temperatureMean: 15 }]);
    });

    test('loses no reading that is appended between its chunks', async () => {
      const home = await givenDwelling(given.store);
      const { place } = await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      const at = (hour: number, minute: number) =>
        readingOf(home, 'a', 'temperature', NEW_YEAR + hour * HOUR + minute * MINUTE, hour);
      await appendReadings(
        given.store,
        Array.from({ length: 60 }, (_, hour) => at(hour, 0)),
      );
      const rebuilding = keepHours(given.store, { chunkHours: 3 });
      for (let k = 0; k < 60; k++) {
        await new Promise((resolve) => setImmediate(resolve));
        await appendReadings(given.store, [at((k * 37) % 60, 20), at((k * 11) % 60, 40)]);
      }
      await rebuilding;
      await keepHours(given.store);
      const records = await given.store.hourRecords(home.id, place.id, ...ALWAYS);
      expect(records.map(({ temperatureCount }) => temperatureCount)).toEqual(Array(60).fill(3));
      expect(await given.store.countStaleHours()).toBe(0);
    });
  });

  describe('deleting every hour record and rebuilding', () => {
    test('pairs a surface with its own hour alone, also when two room sensors reported nearer, just past its end', async () => {
      const home = await givenDwelling(given.store);
      const { place: room } = await givenWatchedPlace(given.store, home, 'room-air', 'r1');
      const second = await given.store.ensureSensor(home.id, 'r2');
      await given.store.placeSensor(home.id, second.id, room.id, 0);
      const { place: ceiling } = await givenWatchedPlace(given.store, home, 'ceiling-surface', 'c');
      const at = (key: string, minute: number) => [
        readingOf(home, key, 'temperature', NEW_YEAR + minute * MINUTE, 20),
        readingOf(home, key, 'humidity', NEW_YEAR + minute * MINUTE, 50),
      ];
      const minutes = [10, 25, 40, 60];
      await appendReadings(given.store, [
        ...minutes.flatMap((minute) => [...at('r1', minute), ...at('r2', minute)]),
        ...[15, 35, 55].map((minute) => readingOf(home, 'c', 'temperature', NEW_YEAR + minute * MINUTE, 15)),
      ]);
      await keepHours(given.store);
      const together = await inFull(given.store, home.id);
      const [record] = await given.store.hourRecords(home.id, ceiling.id, ...ALWAYS);
      // dew point of air at 20 °C and 50 %: 9.3 °C in the table of DIN 4108-3 (from memory), printed to 0.1 K
      expect(record!.marginMean).toBeCloseTo(15 - 9.3, 1);
      await given.store.discardHours(home.id);
      await keepHours(given.store, { chunkHours: 1 });
      expect(await inFull(given.store, home.id)).toBe(together);
    });

    const kinds: PlaceKind[] = ['room-air', 'ceiling-surface', 'loft-air', 'outdoor-air', 'behind-lining'];

    test('gives the same records to the last bit as building them as readings trickled in, late, repeated and out of order', async () => {
      let home = 0;
      const sensor = fc.integer({ min: 0, max: 5 });
      const reading = fc.record({
        sensor,
        quantity: fc.constantFrom('temperature' as const, 'humidity' as const),
        // few distinct instants, so that sensors often report at the same one and on both sides of an hour's end
        minute: fc.integer({ min: 0, max: 5 * 12 }).map((k) => k * 5),
        share: fc.integer({ min: 0, max: 1000 }).map((thousandths) => thousandths / 1000),
      });
      const story = fc.array(
        fc.oneof(
          { weight: 6, arbitrary: fc.record({ append: fc.array(reading, { minLength: 1, maxLength: 30 }) }) },
          {
            weight: 1,
            arbitrary: fc.record({
              move: sensor,
              to: fc.option(fc.integer({ min: 1, max: kinds.length }), { nil: null }),
              minute: fc.integer({ min: 0, max: 300 }),
            }),
          },
          {
            weight: 1,
            arbitrary: fc.record({
              calibrate: fc.integer({ min: 0, max: 11 }),
              by: fc.integer({ min: -5, max: 5 }),
              minute: fc.integer({ min: 0, max: 300 }),
            }),
          },
          { weight: 1, arbitrary: fc.record({ withdraw: fc.integer({ min: 1, max: 5 }) }) },
        ),
        { minLength: 4, maxLength: 12 },
      );
      await fc.assert(
        fc.asyncProperty(story, async (events) => {
          const dwelling = await givenDwelling(given.store, `home-${home++}`);
          for (const kind of kinds) await givenPlace(given.store, dwelling, kind);
          for (let k = 0; k < 6; k++) {
            const { id } = await given.store.ensureSensor(dwelling.id, `s${k}`);
            await given.store.placeSensor(dwelling.id, id, (k % kinds.length) + 1, 0);
          }
          for (const event of events) {
            if ('append' in event) {
              const readings: IncomingReading[] = event.append.map(({ sensor: k, quantity, minute, share }) => {
                // anything that may be measured, from the one end of its range to the other
                const { low, high } = quantities[quantity];
                const value = low + share * (high - low);
                return readingOf(dwelling, `s${k}`, quantity, NEW_YEAR + minute * MINUTE, value);
              });
              await appendReadings(given.store, readings);
            } else if ('calibrate' in event) {
              const series = (await given.store.series(dwelling.id))[event.calibrate];
              if (series === undefined) continue;
              await given.store.addCalibrations(dwelling.id, [
                {
                  seriesId: series.id,
                  from: NEW_YEAR + event.minute * MINUTE,
                  method: 'reference-instrument',
                  points: [{ reading: 20, reference: 20 + event.by / 7 }],
                  uncertainty: 0.1,
                  sharedSource: null,
                  sharedUncertainty: 0,
                  note: '',
                  madeAt: NEW_YEAR,
                },
              ]);
            } else if ('withdraw' in event) {
              const made = await given.store.calibrations(dwelling.id);
              if (made.length < event.withdraw) continue;
              await given.store.withdrawCalibration(dwelling.id, event.withdraw, NEW_YEAR);
            } else {
              await given.store.placeSensor(dwelling.id, event.move + 1, event.to, NEW_YEAR + event.minute * MINUTE);
            }
            await keepHours(given.store, { chunkHours: 1 });
          }
          const trickled = await inFull(given.store, dwelling.id);
          await given.store.discardHours(dwelling.id);
          expect((await allRecords(given.store, dwelling.id)).flat()).toEqual([]);
          await keepHours(given.store);
          expect(await inFull(given.store, dwelling.id)).toBe(trickled);
        }),
        { numRuns: 30, endOnFailure: true },
      );
    }, 30_000);
  });

  describe('the interval of a sensor', () => {
    test('is learned from its fourth reading on, and the hours before are judged by it', async () => {
      const home = await givenDwelling(given.store);
      const { place } = await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      const at = (k: number) => readingOf(home, 'a', 'temperature', NEW_YEAR + k * 30 * MINUTE + k * 1000, 5);
      await appendReadings(given.store, [at(0), at(1), at(2)]);
      await keepHours(given.store);
      const [before] = await given.store.hourRecords(home.id, place.id, ...ALWAYS);
      expect(before!.temperatureCoverage).toBeLessThan(0.5);
      await appendReadings(given.store, [at(3)]);
      expect(await keepHours(given.store)).toEqual({ hours: 2, records: 2, learned: 1 });
      expect((await given.store.series(home.id))[0]!.intervalSeconds).toBe(1800);
      const [after] = await given.store.hourRecords(home.id, place.id, ...ALWAYS);
      expect(after!.temperatureCoverage).toBe(1);
    });

    test('that a person has set is left alone', async () => {
      const home = await givenDwelling(given.store);
      await givenWatchedPlace(given.store, home, 'loft-air', 'a');
      const at = (k: number) => readingOf(home, 'a', 'temperature', NEW_YEAR + k * MINUTE, 5);
      await appendReadings(given.store, [at(0)]);
      await given.store.setInterval(home.id, 1, 3600);
      await appendReadings(given.store, [at(1), at(2), at(3), at(4)]);
      expect((await keepHours(given.store)).learned).toBe(0);
      expect((await given.store.series(home.id))[0]!.intervalSeconds).toBe(3600);
    });

    test.each([
      ['a minute', MINUTE, 300],
      ['five minutes and a slow clock', 5 * MINUTE + 20_000, 300],
      ['six minutes', 6 * MINUTE, 600],
      ['ten minutes', 10 * MINUTE, 600],
      ['a quarter of an hour', 15 * MINUTE, 900],
      ['twenty minutes', 20 * MINUTE, 1200],
      ['half an hour', 30 * MINUTE, 1800],
      ['an hour', HOUR, 3600],
      ['a day', DAY, 3600],
    ])('of %s is taken for the usual one it fits in', (_, spacing, seconds) => {
      const times = Array.from({ length: 9 }, (_, k) => k * spacing);
      expect(intervalOf(times)).toBe(seconds);
      // a gap and a burst do not move a median
      expect(intervalOf([...times, times.at(-1)! + 1000, times.at(-1)! + 3 * DAY])).toBe(seconds);
      expect(intervalOf(times.slice(0, 3))).toBeNull();
    });
  });
}
