import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { nightHours } from '../../server/api/contract/nights.ts';
import { csvOf, numberCell, textCell } from '../../web/src/charts/csv.ts';
import { type Entries, entryAt, plainEntries, rowsOf, spliced, type Trace } from '../../web/src/charts/trace.ts';
import { moved, pinched, within, zoomed } from '../../web/src/charts/window.ts';
import { nights } from '../../web/src/time/zone.ts';

const HOUR_MS = 3_600_000;
const limits = { from: 0, to: 1000, narrowest: 10 };
const window = fc
  .tuple(fc.double({ min: 0, max: 980, noNaN: true }), fc.double({ min: 10, max: 1000, noNaN: true }))
  .map(([from, width]) => within({ from, to: from + width }, limits));

describe('the part of an axis that is shown', () => {
  it('stays within what is known however it is moved and zoomed, and never turns round', () => {
    const act = fc.oneof(
      fc.record({ kind: fc.constant('move' as const), by: fc.double({ min: -3000, max: 3000, noNaN: true }) }),
      fc.record({
        kind: fc.constant('zoom' as const),
        by: fc.double({ min: 0.001, max: 1000, noNaN: true }),
      }),
    );
    fc.assert(
      fc.property(window, fc.array(act), (first, acts) => {
        let shown = first;
        for (const { kind, by } of acts) {
          const middle = (shown.from + shown.to) / 2;
          shown = kind === 'move' ? moved(shown, by, limits) : zoomed(shown, by, middle, limits);
          expect(shown.from).toBeGreaterThanOrEqual(limits.from);
          expect(shown.to).toBeLessThanOrEqual(limits.to + 1e-6);
          expect(shown.to - shown.from).toBeGreaterThanOrEqual(limits.narrowest - 1e-6);
        }
      }),
    );
  });

  it('keeps what lies under the pointer there while it zooms, as long as there is room', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.2, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (factor, share) => {
          const shown = { from: 400, to: 600 };
          const at = 400 + 200 * share;
          const next = zoomed(shown, factor, at, limits);
          expect(next.from + share * (next.to - next.from)).toBeCloseTo(at, 6);
        },
      ),
    );
  });

  it('keeps its width when it is moved against an end', () => {
    expect(moved({ from: 900, to: 950 }, 500, limits)).toEqual({ from: 950, to: 1000 });
    expect(moved({ from: 50, to: 100 }, -500, limits)).toEqual({ from: 0, to: 50 });
  });

  it('puts what two fingers hold under them, and does nothing when they meet', () => {
    expect(pinched([450, 550], [0.25, 0.75], limits)).toEqual({ from: 400, to: 600 });
    expect(pinched([450, 550], [0, 1], limits)).toEqual({ from: 450, to: 550 });
    expect(pinched([450, 550], [0.5, 0.5], limits)).toBeNull();
  });
});

describe('what is read at a moment', () => {
  const stretch: Entries = { ...plainEntries([1, 2, 3], [10, 20, 40]), end: 50, at: 'stretch' };

  it('is the entry that holds it, or the nearest reading', () => {
    expect([5, 10, 19.9, 20, 39, 49, 50].map((x) => entryAt(stretch, x))).toEqual([-1, 0, 0, 1, 1, 2, -1]);
    const points = plainEntries([1, 2, 3], [10, 20, 40]);
    expect([5, 14, 16, 31, 99].map((x) => entryAt(points, x))).toEqual([0, 0, 1, 2, 2]);
  });

  it('is finer where finer entries have come, and complete on either side of them', () => {
    const coarse: Entries = { ...plainEntries([1, 2, 3, 4, 5], [0, 10, 20, 30, 40]), end: 50, at: 'stretch' };
    const fine: Entries = { ...plainEntries([21, 22, 23, 24], [10, 15, 20, 25]), end: 30, at: 'stretch' };
    const both = spliced(coarse, fine);
    expect(Array.from(both.begins)).toEqual([0, 10, 15, 20, 25, 30, 40]);
    expect(Array.from(both.mean)).toEqual([1, 21, 22, 23, 24, 4, 5]);
    expect(both.end).toBe(50);
  });
});

describe('a file of values', () => {
  const words = {
    begin: 'time UTC',
    mean: (name: string) => `${name}, mean`,
    min: (name: string) => `${name}, lowest`,
    max: (name: string) => `${name}, highest`,
    plusMinus: (name: string) => `${name}, ±`,
    count: (name: string) => `${name}, readings`,
  };

  it('is read back by another reader as it was written, whatever a place is called', () => {
    fc.assert(
      fc.property(
        fc.string({ minLength: 1, unit: 'binary' }).filter((name) => !name.includes('\r')),
        fc.array(fc.option(fc.double({ min: -60, max: 100, noNaN: true })), { minLength: 1, maxLength: 20 }),
        (name, values) => {
          const traces: Trace[] = [{ name, ink: 'ink', stroke: 'plain', entries: plainEntries(values) }];
          const rows = rowsOf(traces, { from: 0, to: values.length });
          const text = csvOf(traces, rows, '°C', (x) => new Date(x * HOUR_MS).toISOString(), words);
          const back: string[][] = parse(text, { relax_column_count: false });
          expect(back.length).toBe(values.length + 1);
          // a name may be given an apostrophe in front; nothing else may happen to it
          expect([`${name}, mean (°C)`, `'${name}, mean (°C)`]).toContain(back[0]![1]);
          expect(back[0]![1]).not.toMatch(/^[=+\-@\t]/);
          values.forEach((value, i) => {
            expect(back[i + 1]![0]).toBe(new Date(i * HOUR_MS).toISOString());
            expect(back[i + 1]![1]).toBe(value === null ? '' : String(Number(value.toPrecision(6))));
          });
        },
      ),
    );
  });

  it('holds no text that a spreadsheet takes for a formula, and leaves negative numbers numbers', () => {
    for (const text of ['=1+1', '+1', '-1', '@sum', '\t=1']) expect(textCell(text).replace('"', '')[0]).toBe("'");
    expect(numberCell(-3.25)).toBe('-3.25');
    expect(numberCell(null)).toBe('');
  });
});

describe('the nights that are shaded', () => {
  it('are those of the program, 14 hours long but 13 and 15 where the clock changes', () => {
    // clocks in the United Kingdom change at 01:00 UTC on the last Sundays of March and October
    const lengths = (from: number) =>
      nights('Europe/London', from, from + 3 * 24 * HOUR_MS, nightHours.from, nightHours.to).map(
        (night) => (night.to - night.from) / HOUR_MS,
      );
    expect(lengths(Date.UTC(2026, 2, 27, 12))).toEqual([14, 13, 14]);
    expect(lengths(Date.UTC(2026, 9, 23, 12))).toEqual([14, 15, 14]);
  });
});
