import { describe, expect, test } from 'vitest';
import type { OutdoorFeed } from '../../../server/analysis/forecast/tonight-forecast.ts';
import type { KeptForecast } from '../../../server/store/port.ts';
import { givenDwelling, givenPlace, HOUR, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

const forecastOf = (dwellingId: number, placeId: number, change: Partial<KeptForecast> = {}): KeptForecast => ({
  dwellingId,
  placeId,
  night: '2026-01-01',
  hour: 18,
  madeAt: NEW_YEAR + 18 * HOUR + 1,
  chance: 0.62,
  value: -0.3,
  low: -1.9,
  high: 1.2,
  at: NEW_YEAR + 22 * HOUR,
  basis: 'own-outdoor',
  ...change,
});

const outdoorOf = (change: Partial<OutdoorFeed> = {}): OutdoorFeed => ({
  issued: NEW_YEAR + 5,
  received: NEW_YEAR + 60_000,
  from: NEW_YEAR + HOUR,
  temperature: Float64Array.of(3.5, Number.NaN, -1.25),
  vapourPressure: Float64Array.of(700, 680.5, Number.NaN),
  ...change,
});

export function forecastContract(given: UnderTest): void {
  describe('forecasts', () => {
    test('are kept once for each place, night and hour, as they were first given, across a restart', async () => {
      const home = await givenDwelling(given.store);
      const other = await givenDwelling(given.store, 'gable-cottage');
      const place = await givenPlace(given.store, home, 'ceiling-surface');
      await givenPlace(given.store, other, 'ceiling-surface');
      const first = forecastOf(home.id, place.id);
      expect(await given.store.keepForecast(first)).toBe(true);
      expect(await given.store.keepForecast({ ...first, chance: 0.1, madeAt: first.madeAt + 1 })).toBe(false);
      await given.reopen();
      expect(await given.store.keepForecast({ ...first, chance: 0.1 })).toBe(false);
      const noon = { ...first, hour: 12 };
      const later = { ...first, night: '2026-01-02' };
      for (const one of [later, noon, { ...first, dwellingId: other.id }]) await given.store.keepForecast(one);
      expect(await given.store.keptForecasts(home.id, '2025-12-31')).toEqual([noon, first, later]);
      expect(await given.store.keptForecasts(home.id, '2026-01-02')).toEqual([later]);
    });

    test('of nonsense are refused', async () => {
      const home = await givenDwelling(given.store);
      const place = await givenPlace(given.store, home, 'ceiling-surface');
      const changes: Partial<KeptForecast>[] = [
        { chance: 1.1 },
        { chance: Number.NaN },
        { night: '14 January' },
        { hour: 24 },
        { value: Number.NaN },
        { at: NEW_YEAR + 1 },
      ];
      for (const change of changes) {
        await expect(given.store.keepForecast(forecastOf(home.id, place.id, change))).rejects.toThrow(RangeError);
      }
      await expect(given.store.keepForecast(forecastOf(home.id, 99))).rejects.toThrow();
      await expect(given.store.keepForecast(forecastOf(99, 1))).rejects.toMatchObject({ fault: 'not-found' });
      expect(await given.store.keptForecasts(home.id, '2000-01-01')).toEqual([]);
    });
  });

  describe('outdoor forecasts', () => {
    test('come back as they were given, what they do not say as NaN, across a restart', async () => {
      const home = await givenDwelling(given.store);
      const later = outdoorOf({ issued: NEW_YEAR + HOUR, received: NEW_YEAR + 2 * HOUR });
      await given.store.keepOutdoorForecast(home.id, later);
      await given.store.keepOutdoorForecast(home.id, outdoorOf());
      await given.reopen();
      expect(await given.store.outdoorForecasts(home.id, Number.NEGATIVE_INFINITY)).toEqual([outdoorOf(), later]);
      expect(await given.store.outdoorForecasts(home.id, NEW_YEAR + 6)).toEqual([later]);
    });

    test('that come again are kept once, and one that was amended is kept beside the first', async () => {
      const home = await givenDwelling(given.store);
      expect(await given.store.keepOutdoorForecast(home.id, outdoorOf())).toBe(true);
      expect(await given.store.keepOutdoorForecast(home.id, outdoorOf({ received: NEW_YEAR + 2 * HOUR }))).toBe(false);
      const amended = outdoorOf({ received: NEW_YEAR + 3 * HOUR, temperature: Float64Array.of(1, 2, 3) });
      expect(await given.store.keepOutdoorForecast(home.id, amended)).toBe(true);
      expect(await given.store.outdoorForecasts(home.id, 0)).toEqual([outdoorOf(), amended]);
      // the first once more, as when it is read in late: what came after it does not make it another
      expect(await given.store.keepOutdoorForecast(home.id, outdoorOf())).toBe(false);
      expect(await given.store.outdoorForecasts(home.id, 0)).toEqual([outdoorOf(), amended]);
    });

    test('of nonsense are refused', async () => {
      const home = await givenDwelling(given.store);
      for (const change of [{ from: NEW_YEAR + 1 }, { temperature: Float64Array.of(1) }, { issued: Number.NaN }]) {
        await expect(given.store.keepOutdoorForecast(home.id, outdoorOf(change))).rejects.toThrow(RangeError);
      }
    });
  });
}
