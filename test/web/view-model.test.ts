import fc from 'fast-check';
import { DateTime } from 'luxon';
import { describe, expect, it } from 'vitest';
import { daysSinceOctober } from '../../web/src/charts/cumulative.ts';
import { entriesOf, plainEntries, type Trace } from '../../web/src/charts/trace.ts';
import { linesOf, timeTicks } from '../../web/src/charts/view-model.ts';

const HOUR_MS = 3_600_000;
const zone = 'Europe/London';

describe('what a chart is given', () => {
  const trace = (entries: Trace['entries']): Trace => ({ name: 'x', ink: 'ink', stroke: 'plain', entries });

  it('has a gap for every missing value and never a nought in its place', () => {
    const [line] = linesOf(trace(plainEntries([1, 5, null, 0, 4])));
    expect(line!.points.map(({ y }) => y)).toEqual([1, 5, Number.NaN, 0, 4]);
  });

  it('shows a value that stands alone between two gaps as a dot, for no line would show it', () => {
    const lines = linesOf(trace(plainEntries([1, 2, null, 9, null, 3, 4])));
    expect(lines.map(({ stroke }) => stroke)).toEqual(['plain', 'dots']);
    expect(lines[1]!.points).toEqual([{ x: 3, y: 9 }]);
  });

  it('shows an hour at its middle, its extremes round it, and round those what its sensors may be off by', () => {
    const entries = entriesOf({
      figure: 'temperature',
      unit: '°C',
      kind: 'buckets',
      stepHours: 1,
      start: new Date(10 * HOUR_MS).toISOString(),
      begins: [0],
      end: 3600,
      min: [4],
      mean: [5],
      max: [7],
      count: [6],
      plusMinus: [0.5],
    });
    const lines = linesOf(trace(entries));
    expect(lines.map(({ points, shade }) => [points[0], shade])).toEqual([
      [{ x: 10.5 * HOUR_MS, y: 3.5 }, undefined],
      [{ x: 10.5 * HOUR_MS, y: 7.5 }, 'paler-to-previous'],
      [{ x: 10.5 * HOUR_MS, y: 4 }, undefined],
      [{ x: 10.5 * HOUR_MS, y: 7 }, 'to-previous'],
      [{ x: 10.5 * HOUR_MS, y: 5 }, undefined],
      [{ x: 10.5 * HOUR_MS, y: 5 }, undefined],
    ]);
  });

  it('has no more ticks than there is room for, all of them within the axis', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: Date.UTC(2020, 0, 1), max: Date.UTC(2030, 0, 1) }),
        fc.oneof(fc.integer({ min: 24, max: 24_000 }), fc.integer({ min: 1, max: 100 })),
        fc.integer({ min: 3, max: 20 }),
        (from, hours, most) => {
          const to = from + hours * HOUR_MS;
          const ticks = timeTicks(zone, from, to, most);
          expect(ticks.length).toBeLessThanOrEqual(most + 1);
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
