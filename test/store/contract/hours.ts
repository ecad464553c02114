import { describe, expect, test } from 'vitest';
import { hourSettings } from '../../../server/analysis/hours.ts';
import {
  appendReadings,
  bareRecord,
  DAY,
  forgetStaleHours,
  fullRecord,
  givenDwelling,
  givenPlace,
  HOUR,
  NEW_YEAR,
  readingOf,
  staleHoursOf,
} from './given.ts';
import type { UnderTest } from './under-test.ts';

export function hourContract(given: UnderTest): void {
  async function givenStale(...hours: number[]) {
    const home = await givenDwelling(given.store);
    const place = await givenPlace(given.store, home, 'ceiling-surface');
    await appendReadings(
      given.store,
      hours.map((hour) => readingOf(home, 'a', 'temperature', NEW_YEAR + hour * HOUR, 10)),
    );
    return { home, place, stale: await given.store.staleHours(home.id, 0, 1000) };
  }

  describe('hour records', () => {
    test('come back in every field as they were put, across a restart, and unknown is null', async () => {
      const { home, place, stale } = await givenStale(0, 1);
      const records = [fullRecord(place.id, NEW_YEAR), bareRecord(place.id, NEW_YEAR + HOUR)];
      await given.store.replaceHours(home.id, stale, records);
      await given.reopen();
      expect(await given.store.hourRecords(home.id, place.id, NEW_YEAR, NEW_YEAR + 2 * HOUR)).toEqual(records);
    });

    test('are read as the columns asked for, a gap or too little coverage as NaN, a yes as 1', async () => {
      const { home, place, stale } = await givenStale(0, 1);
      const record = fullRecord(place.id, NEW_YEAR);
      const thin = { ...fullRecord(place.id, NEW_YEAR + HOUR), temperatureCoverage: 0.25 };
      await given.store.replaceHours(home.id, stale, [record, thin]);
      const columns = await given.store.hourColumns(home.id, place.id, NEW_YEAR, NEW_YEAR + 3 * HOUR, [
        'temperature',
        'factorOutdoor',
        'riskHour',
        'coverage',
      ]);
      expect(Object.keys(columns)).toEqual(['temperature', 'factorOutdoor', 'riskHour', 'coverage']);
      expect(Array.from(columns.temperature)).toEqual([record.temperatureMean, Number.NaN, Number.NaN]);
      expect(Array.from(columns.coverage)).toEqual([record.temperatureCoverage, 0.25, Number.NaN]);
      expect(columns.riskHour[0]).toBe(record.riskHour ? 1 : 0);
      expect(columns.factorOutdoor[0]).toBe(record.factorOutdoor);
    });

    test('of an hour are replaced for all its places at once, and other hours stay', async () => {
      const { home, place, stale } = await givenStale(0, 1);
      const room = await givenPlace(given.store, home);
      const both = (hour: number) => [fullRecord(place.id, hour), fullRecord(room.id, hour)];
      await given.store.replaceHours(home.id, stale, [...both(NEW_YEAR), ...both(NEW_YEAR + HOUR)]);
      await given.store.replaceHours(home.id, [stale[0]!], [bareRecord(room.id, NEW_YEAR)]);
      const span = [NEW_YEAR, NEW_YEAR + 2 * HOUR] as const;
      expect(await given.store.hourRecords(home.id, place.id, ...span)).toEqual([
        fullRecord(place.id, NEW_YEAR + HOUR),
      ]);
      expect(await given.store.hourRecords(home.id, room.id, ...span)).toEqual([
        bareRecord(room.id, NEW_YEAR),
        fullRecord(room.id, NEW_YEAR + HOUR),
      ]);
    });

    test('are asked for by the whole hours of a span, which may have no end', async () => {
      const { home, place, stale } = await givenStale(0, 1, 2);
      const records = stale.map(({ hour }) => bareRecord(place.id, hour));
      await given.store.replaceHours(home.id, stale, records);
      const of = async (from: number, to: number) =>
        (await given.store.hourRecords(home.id, place.id, from, to)).map(({ hour }) => (hour - NEW_YEAR) / HOUR);
      expect(await of(Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY)).toEqual([0, 1, 2]);
      expect(await of(NEW_YEAR + 1, NEW_YEAR + 3 * HOUR - 1)).toEqual([1]);
      expect(await of(NEW_YEAR + HOUR, NEW_YEAR + HOUR)).toEqual([]);
      await expect(of(Number.NaN, 1)).rejects.toThrow(RangeError);
    });

    test('know their first and last hour', async () => {
      const { home, place, stale } = await givenStale(3, 9);
      const room = await givenPlace(given.store, home);
      expect(await given.store.hourSpan(home.id)).toBeNull();
      await given.store.replaceHours(home.id, stale, [
        bareRecord(room.id, NEW_YEAR + 3 * HOUR),
        bareRecord(place.id, NEW_YEAR + 9 * HOUR),
      ]);
      expect(await given.store.hourSpan(home.id)).toEqual({ first: NEW_YEAR + 3 * HOUR, last: NEW_YEAR + 9 * HOUR });
    });

    test('that do not belong to the hours replaced, or hold no finite number, are refused and nothing is replaced', async () => {
      const { home, place, stale } = await givenStale(0);
      await given.store.replaceHours(home.id, stale, [fullRecord(place.id, NEW_YEAR)]);
      const replace = (...record: Parameters<typeof given.store.replaceHours>[2]) =>
        given.store.replaceHours(home.id, stale, record);
      await expect(replace(bareRecord(place.id, NEW_YEAR + HOUR))).rejects.toThrow(/hour of a record/);
      await expect(replace({ ...bareRecord(place.id, NEW_YEAR), dewPoint: Number.NaN })).rejects.toThrow(/dewPoint/);
      await expect(replace(bareRecord(99, NEW_YEAR))).rejects.toMatchObject({ fault: 'not-found' });
      const twice = bareRecord(place.id, NEW_YEAR);
      await expect(replace(twice, twice)).rejects.toMatchObject({ fault: 'already-there' });
      await expect(
        given.store.replaceHours(home.id, [{ dwellingId: home.id, hour: NEW_YEAR + 1, mark: 1 }], []),
      ).rejects.toThrow(/whole hour/);
      await expect(
        given.store.replaceHours(home.id, [{ dwellingId: home.id + 1, hour: NEW_YEAR, mark: 1 }], []),
      ).rejects.toThrow(/dwellingId/);
      expect(await given.store.hourRecords(home.id, place.id, NEW_YEAR, NEW_YEAR + DAY)).toEqual([
        fullRecord(place.id, NEW_YEAR),
      ]);
    });
  });

  describe('columns of hour records', () => {
    test('have an entry for every whole hour of the span, NaN where there is no record or no value', async () => {
      const { home, place, stale } = await givenStale(1, 2);
      const full = fullRecord(place.id, NEW_YEAR + HOUR);
      await given.store.replaceHours(home.id, stale, [full, bareRecord(place.id, NEW_YEAR + 2 * HOUR)]);
      const hours = await given.store.placeHours(home.id, place.id, NEW_YEAR, NEW_YEAR + 4 * HOUR - 1);
      const at1 = (value: number | null) => Float64Array.of(Number.NaN, value!, Number.NaN);
      expect(hours).toEqual({
        start: NEW_YEAR,
        temperature: at1(full.temperatureMean),
        humidity: at1(full.humidityMean),
        vapourPressure: at1(full.vapourPressure),
        surfaceHumidity: at1(full.surfaceHumidityMean),
        margin: at1(full.marginMean),
        marginLow: at1(full.marginMin),
        timberMoisture: at1(full.timberMoisture),
        co2: at1(full.co2),
      });
      const none = await given.store.placeHours(home.id, place.id, NEW_YEAR + 1, NEW_YEAR + 2);
      expect(none.temperature).toHaveLength(0);
    });

    test('leave out a mean that too little of its hour speaks for', async () => {
      const { home, place, stale } = await givenStale(0, 1, 2);
      const wanted = hourSettings.coverageWanted;
      const record = (k: number, temperatureCoverage: number, humidityCoverage: number) => ({
        ...fullRecord(place.id, NEW_YEAR + k * HOUR),
        temperatureCoverage,
        humidityCoverage,
      });
      await given.store.replaceHours(home.id, stale, [
        record(0, wanted, wanted),
        record(1, wanted - 1 / 12, wanted),
        record(2, wanted, wanted - 1 / 12),
      ]);
      const hours = await given.store.placeHours(home.id, place.id, NEW_YEAR, NEW_YEAR + 3 * HOUR);
      expect([...hours.temperature].map(Number.isNaN)).toEqual([false, true, false]);
      expect([...hours.humidity].map(Number.isNaN)).toEqual([false, false, true]);
    });
  });

  describe('stale hours', () => {
    test('are listed by dwelling in order of time, up to a limit, from a time on', async () => {
      const { home } = await givenStale(5, 3, 4);
      const other = await givenDwelling(given.store, 'other');
      await givenDwelling(given.store, 'silent');
      await appendReadings(given.store, [readingOf(other, 'a', 'temperature', NEW_YEAR, 1)]);
      expect(await given.store.staleDwellings()).toEqual([home.id, other.id]);
      const hours = async (from: number, limit: number) =>
        (await given.store.staleHours(home.id, from, limit)).map(({ hour }) => (hour - NEW_YEAR) / HOUR);
      expect(await hours(0, 100)).toEqual([3, 4, 5]);
      expect(await hours(0, 2)).toEqual([3, 4]);
      expect(await hours(NEW_YEAR + 4 * HOUR, 2)).toEqual([4, 5]);
      expect(await given.store.countStaleHours()).toBe(4);
      await expect(hours(0, 0)).rejects.toThrow(RangeError);
      await forgetStaleHours(given.store, home);
      expect(await given.store.staleDwellings()).toEqual([other.id]);
    });

    test('stay stale when a reading arrived while their records were being built', async () => {
      const { home, place, stale } = await givenStale(0, 1);
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR + 1000, 10)]);
      await given.store.replaceHours(home.id, stale, [bareRecord(place.id, NEW_YEAR)]);
      expect(await staleHoursOf(given.store, home)).toEqual([NEW_YEAR]);
      await forgetStaleHours(given.store, home);
      expect(await staleHoursOf(given.store, home)).toEqual([]);
    });

    test('are not taken for clean by a builder that read them before another one cleaned them', async () => {
      const { home, stale } = await givenStale(0);
      await forgetStaleHours(given.store, home);
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR + 1000, 10)]);
      await given.store.replaceHours(home.id, stale, []);
      expect(await staleHoursOf(given.store, home)).toEqual([NEW_YEAR]);
    });

    test('are all hours with a reading once the records are discarded', async () => {
      const { home, place, stale } = await givenStale(0, 1, 400 * 24);
      await given.store.replaceHours(home.id, stale, [bareRecord(place.id, NEW_YEAR)]);
      const other = await givenDwelling(given.store, 'other');
      await given.store.discardHours(home.id);
      expect(await given.store.hourSpan(home.id)).toBeNull();
      expect(await staleHoursOf(given.store, home)).toEqual([NEW_YEAR, NEW_YEAR + HOUR, NEW_YEAR + 400 * DAY]);
      expect(await staleHoursOf(given.store, other)).toEqual([]);
      expect(await given.store.countReadings(home.id)).toBe(3);
    });
  });
}
