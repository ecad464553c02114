import fc from 'fast-check';
import { DateTime } from 'luxon';
import { describe, expect, it } from 'vitest';
import { daysSinceOctober } from '../../web/src/charts/cumulative.ts';
import { loftAirTracks, valuesOf } from '../../web/src/charts/tracks.ts';
import { dayPoints, hourPoints, localDays, spreadOf, timeTicks } from '../../web/src/charts/view-model.ts';

const HOUR_MS = 3_600_000;
const zone = 'Europe/London';

describe('what a chart is given', () => {
  it('has a gap for every missing hour and never a nought in its place', () => {
    const points = hourPoints(0, [1, null, 0, null]);
    expect(points.map(({ y }) => y)).toEqual([1, Number.NaN, 0, Number.NaN]);
    expect(dayPoints([null, 2]).map(({ y }) => y)).toEqual([Number.NaN, 2]);
  });

  it('shows an hour at its middle', () => {
    expect(hourPoints(10 * HOUR_MS, [5])).toEqual([{ x: 10.5 * HOUR_MS, y: 5 }]);
  });

  it('has no mean and no extremes of nothing', () => {
    expect(spreadOf([null, null])).toEqual({ mean: null, min: null, max: null, count: 0 });
    expect(spreadOf([2, null, 4])).toEqual({ mean: 3, min: 2, max: 4, count: 2 });
  });

  it('puts every hour in exactly one local day, with 25 hours where the clock goes back', () => {
    const start = DateTime.fromISO('2026-10-23T05:00', { zone }).toMillis();
    const days = localDays(zone, start, 24 * 5);
    expect(days.map(({ from, to }) => to - from)).toEqual([19, 24, 25, 24, 24, 4]);
    expect(days.flatMap(({ from, to }) => Array.from({ length: to - from }, (_, i) => from + i))).toEqual(
      Array.from({ length: 24 * 5 }, (_, i) => i),
    );
  });

  it('has no more ticks than there is room for, all of them within the axis', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: Date.UTC(2020, 0, 1), max: Date.UTC(2030, 0, 1) }),
        fc.integer({ min: 1, max: 1000 }),
        fc.integer({ min: 2, max: 20 }),
        (from, days, most) => {
          const to = from + days * 24 * HOUR_MS;
          const ticks = timeTicks(zone, from, to, most);
          expect(ticks.length).toBeLessThanOrEqual(most);
          for (const { at } of ticks) expect(at >= from && at < to).toBe(true);
        },
      ),
      { numRuns: 40 },
    );
  });

  it('counts days since 1 October through the end of summer time', () => {
    const days = ['2026-10-01', '2026-10-25', '2026-10-26', '2027-01-01', '2027-04-01'].map((day) =>
      DateTime.fromISO(day, { zone }).toMillis(),
    );
    expect(daysSinceOctober(zone, days)).toEqual([0, 24, 25, 92, 182]);
  });
});

describe('vapour excess of the loft over outdoors', () => {
  const record = (placeId: number, start: number, values: (number | null)[]) => ({
    placeId,
    start: new Date(start).toISOString(),
    hours: values.length,
    columns: { vapourPressure: values },
  });
  const excess = loftAirTracks[0]!;

  it('is taken hour by hour and missing where either is missing', () => {
    const loft = record(6, 0, [600, null, 620]);
    const outdoors = record(8, 0, [580, 590, null]);
    expect(valuesOf(excess, loft, outdoors)).toEqual([20, null, null]);
  });

  it('compares the same instants where the two begin at different hours', () => {
    expect(valuesOf(excess, record(6, HOUR_MS, [600, 610]), record(8, 0, [1, 580, 585]))).toEqual([20, 25]);
  });

  it('is not drawn for outdoors itself, nor without outdoors', () => {
    const outdoors = record(8, 0, [580]);
    expect(valuesOf(excess, outdoors, outdoors)).toBeNull();
    expect(valuesOf(excess, record(6, 0, [600]), null)).toBeNull();
  });
});
