import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { quantities, quantityNames } from '../../../server/physics/quantities.ts';
import {
  appendReadings,
  DAY,
  forgetStaleHours,
  givenDwelling,
  HOUR,
  message,
  NEW_YEAR,
  readingOf,
  staleHoursOf,
} from './given.ts';
import type { UnderTest } from './under-test.ts';

const ALWAYS = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY] as const;

export function readingContract(given: UnderTest): void {
  describe('readings', () => {
    test('make the sensors and series they come from, and are there after a restart', async () => {
      const home = await givenDwelling(given.store);
      const outcome = await appendReadings(given.store, [
        readingOf(home, 'a', 'temperature', NEW_YEAR, 12.3),
        readingOf(home, 'a', 'humidity', NEW_YEAR, 71.5),
        readingOf(home, 'b', 'temperature', NEW_YEAR + 1, -4.0625),
      ]);
      expect(outcome).toEqual({ stored: 3, repeated: 0, conflicting: 0 });
      await given.reopen();
      expect((await given.store.sensors(home.id)).map(({ key, name }) => [key, name])).toEqual([
        ['a', 'a'],
        ['b', 'b'],
      ]);
      expect((await given.store.series(home.id)).map(({ id, sensorId, quantity }) => [id, sensorId, quantity])).toEqual(
        [
          [1, 1, 'temperature'],
          [2, 1, 'humidity'],
          [3, 2, 'temperature'],
        ],
      );
      expect(await given.store.lastReadings(home.id)).toEqual([
        { seriesId: 1, time: NEW_YEAR, value: 12.3 },
        { seriesId: 2, time: NEW_YEAR, value: 71.5 },
        { seriesId: 3, time: NEW_YEAR + 1, value: -4.0625 },
      ]);
      expect(await given.store.countReadings(home.id)).toBe(3);
    });

    test('join the sensor that was described beforehand', async () => {
      const home = await givenDwelling(given.store);
      const sensor = await given.store.ensureSensor(home.id, 'a');
      for (const quantity of quantityNames) {
        await appendReadings(given.store, [readingOf(home, 'a', quantity, NEW_YEAR, 3)]);
      }
      const series = await given.store.series(home.id);
      expect(series.map(({ quantity }) => quantity)).toEqual(quantityNames);
      expect(series.every(({ sensorId }) => sensorId === sensor.id)).toBe(true);
    });

    test('of two dwellings with sensors of one name are kept apart', async () => {
      const home = await givenDwelling(given.store, 'home');
      const other = await givenDwelling(given.store, 'other');
      await appendReadings(given.store, [
        readingOf(home, 'a', 'temperature', NEW_YEAR, 1),
        readingOf(other, 'a', 'temperature', NEW_YEAR, 2),
      ]);
      const values = async (id: number) => (await given.store.lastReadings(id)).map(({ value }) => value);
      expect(await values(home.id)).toEqual([1]);
      expect(await values(other.id)).toEqual([2]);
      expect(await given.store.countReadings(other.id)).toBe(1);
    });

    test('give back every value to the last bit', async () => {
      const home = await givenDwelling(given.store);
      let time = NEW_YEAR;
      const { low, high } = quantities.temperature;
      const value = fc.oneof(
        fc.double({ noNaN: true, min: low, max: high }),
        fc.integer({ min: -60_000, max: 100_000 }).map((thousandths) => thousandths / 1000),
        fc.constantFrom(0, 0.1 + 0.2, Number.MIN_VALUE, -1e-9, 0.0005, 99.99999999999999, low, high),
      );
      await fc.assert(
        fc.asyncProperty(fc.array(value, { minLength: 1, maxLength: 40 }), async (values) => {
          const from = time;
          await appendReadings(
            given.store,
            values.map((each) => readingOf(home, 'a', 'temperature', time++, each)),
          );
          const wanted = values.map((each) => each + 0);
          const [columns] = await given.store.seriesColumns(home.id, from, time);
          expect([...columns!.values]).toEqual(wanted);
          const rows = await given.store.readings(home.id, 1, from, time, 1000);
          expect(rows.map((row) => row.value)).toEqual(wanted);
        }),
        { numRuns: 60 },
      );
    });

    test('that come by the hundred, late, twice and contradicting each other, keep the first value of each instant', async () => {
      const home = await givenDwelling(given.store);
      const reading = fc.record({
        quantity: fc.constantFrom('temperature' as const, 'humidity' as const),
        second: fc.integer({ min: 0, max: 400 }),
        value: fc.constantFrom(20, 20.5, 21.125, 0.1 + 0.2),
      });
      let first = NEW_YEAR;
      await fc.assert(
        fc.asyncProperty(
          fc.array(fc.array(reading, { minLength: 1, maxLength: 200 }), { maxLength: 4 }),
          async (groups) => {
            const kept = new Map<string, number>();
            for (const group of groups) {
              const wanted = { stored: 0, repeated: 0, conflicting: 0 };
              const readings = group.map(({ quantity, second, value }) => {
                const key = `${quantity} ${second}`;
                const there = kept.get(key);
                if (there === undefined) kept.set(key, value);
                wanted[there === undefined ? 'stored' : there === value ? 'repeated' : 'conflicting']++;
                return readingOf(home, 'a', quantity, first + second * 1000, value);
              });
              expect(await appendReadings(given.store, readings)).toEqual(wanted);
            }
            const series = await given.store.seriesColumns(home.id, first, first + DAY);
            const found = series.flatMap(({ quantity, times, values }) =>
              [...times].map((time, k) => [`${quantity} ${(time - first) / 1000}`, values[k]] as const),
            );
            expect(new Map(found)).toEqual(kept);
            first += DAY;
          },
        ),
        { numRuns: 40 },
      );
    }, 30_000);

    test('come back in order of time however late they came, in a span that begins on a reading and ends before one', async () => {
      const home = await givenDwelling(given.store);
      const minutes = [7, 2, 9, 4, 0, 5];
      for (const minute of minutes) {
        await appendReadings(given.store, [readingOf(home, 'a', 'co2', NEW_YEAR + minute * 60_000, 400 + minute)]);
      }
      const from = NEW_YEAR + 2 * 60_000;
      const to = NEW_YEAR + 7 * 60_000;
      const [columns] = await given.store.seriesColumns(home.id, from, to);
      expect([...columns!.values]).toEqual([402, 404, 405]);
      expect([...columns!.times]).toEqual([2, 4, 5].map((minute) => NEW_YEAR + minute * 60_000));
      expect(columns).toMatchObject({ seriesId: 1, sensorId: 1, quantity: 'co2', intervalSeconds: null });
      await appendReadings(given.store, [readingOf(home, 'b', 'co2', from, 999)]);
      expect(await given.store.oneSeriesColumns(home.id, 1, from, to)).toEqual(columns);
      expect(await given.store.oneSeriesColumns(home.id, 1, to + DAY, to + 2 * DAY)).toBeNull();
      expect((await given.store.readings(home.id, 1, from, to, 2)).map(({ value }) => value)).toEqual([402, 404]);
      expect((await given.store.readings(home.id, 1, ...ALWAYS, 100)).map(({ value }) => value)).toEqual([
        400, 402, 404, 405, 407, 409,
      ]);
    });

    test('outside the span leave no empty columns behind', async () => {
      const home = await givenDwelling(given.store);
      expect(await given.store.seriesColumns(home.id, ...ALWAYS)).toEqual([]);
      expect(await given.store.lastReadings(home.id)).toEqual([]);
      await appendReadings(given.store, [
        readingOf(home, 'a', 'temperature', NEW_YEAR, 1),
        readingOf(home, 'b', 'temperature', NEW_YEAR + DAY, 1),
      ]);
      expect(
        (await given.store.seriesColumns(home.id, NEW_YEAR, NEW_YEAR + 1)).map(({ seriesId }) => seriesId),
      ).toEqual([1]);
      expect(await given.store.seriesColumns(home.id, NEW_YEAR + 1, NEW_YEAR + 1)).toEqual([]);
      expect(await given.store.seriesColumns(home.id, NEW_YEAR + DAY, NEW_YEAR)).toEqual([]);
    });

    test('make the hours stale that they fall in, to the millisecond', async () => {
      const home = await givenDwelling(given.store);
      await appendReadings(given.store, [
        readingOf(home, 'a', 'temperature', NEW_YEAR + HOUR - 1, 1),
        readingOf(home, 'a', 'temperature', NEW_YEAR + 3 * HOUR, 1),
        readingOf(home, 'b', 'battery', 0, 3),
      ]);
      expect(await staleHoursOf(given.store, home)).toEqual([0, NEW_YEAR, NEW_YEAR + 3 * HOUR]);
    });

    test('of any quantity that no sensor has, any time before 1970 or between milliseconds, and any value outside its range are refused whole', async () => {
      const home = await givenDwelling(given.store);
      const right = readingOf(home, 'a', 'temperature', NEW_YEAR, 1);
      const wrong = [
        { ...right, value: Number.NaN },
        { ...right, value: 100.001 },
        { ...right, quantity: 'humidity' as const, value: -0.5 },
        { ...right, value: Number.POSITIVE_INFINITY },
        { ...right, time: NEW_YEAR + 0.5 },
        { ...right, time: -1 },
        { ...right, time: Number.NaN },
        { ...right, time: 1e300 },
        { ...right, quantity: 'loudness' as 'co2' },
        { ...right, sensorKey: '' },
      ];
      for (const reading of wrong) {
        const batch = { receivedAt: NEW_YEAR, readings: [right, reading], quarantined: [message()] };
        await expect(given.store.append(batch)).rejects.toThrow(RangeError);
      }
      await expect(appendReadings(given.store, [right], Number.NaN)).rejects.toThrow(RangeError);
      expect(await given.store.sensors(home.id)).toEqual([]);
      expect(await given.store.countQuarantined()).toBe(0);
    });

    test('cannot be asked for without a limit or a span', async () => {
      const home = await givenDwelling(given.store);
      await expect(given.store.readings(home.id, 1, 0, 1, 0)).rejects.toThrow(/limit is 0/);
      await expect(given.store.readings(home.id, 1, 0, 1, Number.NaN)).rejects.toThrow(RangeError);
      await expect(given.store.readings(home.id, 1, Number.NaN, 1, 1)).rejects.toThrow(/from is NaN/);
      await expect(given.store.seriesColumns(home.id, 0, Number.NaN)).rejects.toThrow(/to is NaN/);
      await expect(given.store.conflicts(home.id, -1)).rejects.toThrow(RangeError);
    });
  });

  describe('a batch', () => {
    test('with a reading of a dwelling that does not exist leaves nothing behind, and its sensors can come again', async () => {
      const home = await givenDwelling(given.store);
      const right = readingOf(home, 'a', 'temperature', NEW_YEAR, 1);
      const stranger = readingOf({ id: home.id + 1 }, 'a', 'temperature', NEW_YEAR, 1);
      const batch = { receivedAt: NEW_YEAR, readings: [right, stranger], quarantined: [message()] };
      await expect(given.store.append(batch)).rejects.toMatchObject({ fault: 'not-found' });
      expect(await given.store.sensors(home.id)).toEqual([]);
      expect(await given.store.countReadings(home.id)).toBe(0);
      expect(await given.store.countQuarantined()).toBe(0);
      expect(await given.store.countStaleHours()).toBe(0);
      expect(await appendReadings(given.store, [right])).toMatchObject({ stored: 1 });
      expect(await given.store.lastReadings(home.id)).toEqual([{ seriesId: 1, time: NEW_YEAR, value: 1 }]);
    });

    test('with nothing in it changes nothing', async () => {
      await givenDwelling(given.store);
      expect(await appendReadings(given.store, [])).toEqual({ stored: 0, repeated: 0, conflicting: 0 });
      expect(await given.store.countStaleHours()).toBe(0);
    });
  });

  describe('a reading that comes again', () => {
    test('is one reading and makes no hour stale', async () => {
      const home = await givenDwelling(given.store);
      const readings = [12.3, 1 / 3].map((value, k) => readingOf(home, 'a', 'temperature', NEW_YEAR + k, value));
      await appendReadings(given.store, readings);
      await given.store.replaceHours(home.id, await given.store.staleHours(home.id, 0, 9), []);
      expect(await appendReadings(given.store, [...readings, ...readings])).toEqual({
        stored: 0,
        repeated: 4,
        conflicting: 0,
      });
      expect(await given.store.countReadings(home.id)).toBe(2);
      expect(await given.store.countStaleHours()).toBe(0);
      expect(await given.store.conflicts(home.id, 10)).toEqual([]);
    });

    test('with another value is kept aside once, and the first one stays', async () => {
      const home = await givenDwelling(given.store);
      const at = (value: number) => readingOf(home, 'a', 'temperature', NEW_YEAR, value);
      expect(await appendReadings(given.store, [at(20), at(20), at(21)], NEW_YEAR + 1)).toEqual({
        stored: 1,
        repeated: 1,
        conflicting: 1,
      });
      await appendReadings(given.store, [at(21)], NEW_YEAR + 2);
      await appendReadings(given.store, [at(1 / 3)], NEW_YEAR + 3);
      await given.reopen();
      const kept = { seriesId: 1, time: NEW_YEAR, keptValue: 20 };
      expect(await given.store.conflicts(home.id, 10)).toEqual([
        { ...kept, otherValue: 1 / 3, receivedAt: NEW_YEAR + 3 },
        { ...kept, otherValue: 21, receivedAt: NEW_YEAR + 1 },
      ]);
      expect(await given.store.conflicts(home.id, 1)).toHaveLength(1);
      expect(await given.store.lastReadings(home.id)).toMatchObject([{ value: 20 }]);
    });

    test('among a thousand of two homes is one reading, and the thousand are stored in whatever order they come', async () => {
      const homes = [await givenDwelling(given.store, 'home'), await givenDwelling(given.store, 'other')];
      const many = Array.from({ length: 1000 }, (_, k) =>
        // in no order, over five hours and into another month
        readingOf(
          homes[k % 2]!,
          `s${k % 6}`,
          'temperature',
          NEW_YEAR - 2 * HOUR + ((k * 7919) % 1000) * 18_000,
          k / 70,
        ),
      );
      const expected = async (): Promise<void> => {
        for (const [n, home] of homes.entries()) {
          const columns = await given.store.seriesColumns(home.id, ...ALWAYS);
          const kept = columns.flatMap(({ times, values }) => [...times].map((time, k) => [time, values[k]!]));
          const sent = many.filter((_, k) => k % 2 === n).map(({ time, value }) => [time, value]);
          const inOrder = (rows: number[][]) => rows.sort((a, b) => a[0]! - b[0]! || a[1]! - b[1]!);
          expect(inOrder(kept)).toEqual(inOrder(sent as number[][]));
        }
      };
      expect(await appendReadings(given.store, many)).toEqual({ stored: 1000, repeated: 0, conflicting: 0 });
      await expected();
      for (const home of homes) {
        expect(await staleHoursOf(given.store, home)).toEqual([-2, -1, 0, 1, 2].map((k) => NEW_YEAR + k * HOUR));
        await forgetStaleHours(given.store, home);
      }
      expect(await appendReadings(given.store, many)).toEqual({ stored: 0, repeated: 1000, conflicting: 0 });
      expect(await given.store.countStaleHours()).toBe(0);
      await expected();
    });

    test('among a thousand leaves the others stored, its other values kept aside in the order in which they came, and marks only hours that got something', async () => {
      const home = await givenDwelling(given.store);
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 20)], NEW_YEAR);
      await forgetStaleHours(given.store, home);
      const many = Array.from({ length: 1000 }, (_, k) =>
        readingOf(home, 'a', 'temperature', NEW_YEAR + HOUR + k * 3000, k / 70),
      );
      const again = [21, 20, 22].map((value) => readingOf(home, 'a', 'temperature', NEW_YEAR, value));
      const twice = readingOf(home, 'a', 'temperature', NEW_YEAR + HOUR, -1);
      expect(
        await appendReadings(given.store, [again[0]!, ...many, again[1]!, again[2]!, twice], NEW_YEAR + 9),
      ).toEqual({
        stored: 1000,
        repeated: 1,
        conflicting: 3,
      });
      expect(await given.store.countReadings(home.id)).toBe(1001);
      expect(
        (await given.store.conflicts(home.id, 10)).map(({ time, keptValue, otherValue }) => [
          time,
          keptValue,
          otherValue,
        ]),
      ).toEqual([
        [NEW_YEAR, 20, 21],
        [NEW_YEAR, 20, 22],
        [NEW_YEAR + HOUR, 0, -1],
      ]);
      expect(await staleHoursOf(given.store, home)).toEqual([NEW_YEAR + HOUR]);
    });
  });
}
