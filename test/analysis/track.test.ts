import fc from 'fast-check';
import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';
import { bucketEdges } from '../../server/analysis/bucket-edges.ts';
import { envelope } from '../../server/analysis/envelope.ts';
import { readingsOfKnownHours, trackOf } from '../../server/analysis/track.ts';
import { HOUR_MS } from '../../server/analysis/vocabulary.ts';

const DAY_MS = 24 * HOUR_MS;
const TWO_WINTERS = 17_520;
const zones = ['Europe/London', 'America/St_Johns', 'Australia/Lord_Howe', 'Asia/Kathmandu', 'UTC'];
const whole = fc.integer({ min: Date.UTC(2020, 0, 1) / HOUR_MS, max: Date.UTC(2030, 0, 1) / HOUR_MS });

const plain = (times: Float64Array, mean: Float64Array) => ({ times, low: mean, mean, high: mean });
const known = (values: Float64Array): number[] => Array.from(values).filter((value) => !Number.isNaN(value));

describe('an envelope', () => {
  const samples = fc
    .array(
      fc.record({
        gap: fc.integer({ min: 1, max: 5000 }),
        value: fc.option(fc.double({ min: -60, max: 100, noNaN: true })),
      }),
      {
        minLength: 1,
        maxLength: 200,
      },
    )
    .map((list) => {
      let time = 0;
      const times = list.map(({ gap }) => {
        time += gap;
        return time;
      });
      return {
        times: Float64Array.from(times),
        mean: Float64Array.from(list, ({ value }) => value ?? Number.NaN),
      };
    });

  test('has the extremes of its samples, counts each once, and is empty exactly where nothing is known', () => {
    fc.assert(
      fc.property(samples, fc.integer({ min: 1, max: 20_000 }), ({ times, mean }, width) => {
        const end = times.at(-1)! + 1;
        const edges = Float64Array.from({ length: Math.ceil(end / width) + 1 }, (_, i) => i * width);
        const out = envelope(plain(times, mean), edges);
        const all = known(mean);
        expect(out.count.reduce((sum, one) => sum + one, 0)).toBe(all.length);
        if (all.length > 0) {
          expect(Math.max(...known(out.max))).toBe(Math.max(...all));
          expect(Math.min(...known(out.min))).toBe(Math.min(...all));
        }
        for (let i = 0; i < out.count.length; i++) {
          const inside = Array.from(mean).filter(
            (value, k) => times[k]! >= edges[i]! && times[k]! < edges[i + 1]! && !Number.isNaN(value),
          );
          expect(out.count[i]).toBe(inside.length);
          expect(Number.isNaN(out.mean[i]!)).toBe(inside.length === 0);
          if (inside.length === 0) continue;
          expect(out.min[i]).toBe(Math.min(...inside));
          expect(out.max[i]).toBe(Math.max(...inside));
          expect(out.min[i]! <= out.mean[i]! + 1e-9 && out.mean[i]! <= out.max[i]! + 1e-9).toBe(true);
        }
      }),
    );
  });

  test('keeps the extremes that the hours kept of their readings', () => {
    const out = envelope(
      {
        times: Float64Array.of(0, 1, 2),
        low: Float64Array.of(3, Number.NaN, 1),
        mean: Float64Array.of(5, 6, 2),
        high: Float64Array.of(9, Number.NaN, 2),
      },
      Float64Array.of(0, 3),
    );
    expect([out.min[0], out.mean[0], out.max[0], out.count[0]]).toEqual([1, 13 / 3, 9, 3]);
  });
});

describe('a peak of one reading', () => {
  test('shows at any zoom over two winters, wherever it stands', () => {
    fc.assert(
      fc.property(
        whole,
        fc.integer({ min: 0, max: TWO_WINTERS - 1 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.integer({ min: 1, max: TWO_WINTERS }),
        fc.integer({ min: 2, max: 3000 }),
        fc.constantFrom(...zones),
        (first, at, where, width, most, zone) => {
          const start = first * HOUR_MS;
          const mean = new Float64Array(TWO_WINTERS).fill(12);
          const high = Float64Array.from(mean);
          high[at] = 31;
          const times = Float64Array.from({ length: TWO_WINTERS }, (_, i) => start + i * HOUR_MS);
          // any window of that width that holds the peak
          const from = Math.max(0, Math.min(at - Math.floor(where * (width - 1)), TWO_WINTERS - width));
          const cut = (column: Float64Array) => column.subarray(from, from + width);
          const hours = { times: cut(times), low: cut(mean), mean: cut(mean), high: cut(high) };
          const track = trackOf({
            from: start + from * HOUR_MS,
            to: start + (from + width) * HOUR_MS,
            most,
            zone,
            hours,
            readings: null,
            intervalMs: HOUR_MS,
            extremes: true,
          });
          const peaks = Array.from(track.max).flatMap((value, i) => (value === 31 ? [i] : []));
          expect(peaks.length).toBe(1);
          const begins = track.times[peaks[0]!]!;
          const ends = track.times[peaks[0]! + 1] ?? track.end;
          expect(begins <= times[at]! && times[at]! < ends).toBe(true);
          expect(track.count.reduce((sum, one) => sum + one, 0)).toBe(width);
        },
      ),
      { numRuns: 300 },
    );
  });
});

describe('buckets', () => {
  test('are no more than asked for, cover the span, and stand where they stand for a span beside it', () => {
    fc.assert(
      fc.property(
        whole,
        fc.integer({ min: 1, max: 40_000 }),
        fc.integer({ min: 30, max: 2000 }),
        fc.integer({ min: 1, max: 500 }),
        fc.constantFrom(...zones),
        (first, hours, most, shift, zone) => {
          const [from, to] = [first * HOUR_MS, (first + hours) * HOUR_MS];
          const { edges, stepHours } = bucketEdges(from, to, most, zone);
          expect(edges.length - 1).toBeLessThanOrEqual(most);
          expect(edges[0]! <= from && edges.at(-1)! >= to).toBe(true);
          for (let i = 1; i < edges.length; i++) expect(edges[i]!).toBeGreaterThan(edges[i - 1]!);
          const beside = bucketEdges(from + shift * HOUR_MS, to + shift * HOUR_MS, most, zone);
          if (beside.stepHours !== stepHours) return;
          const inBoth = (list: Float64Array) =>
            Array.from(list).filter((edge) => edge >= beside.edges[0]! && edge <= edges.at(-1)!);
          expect(inBoth(edges)).toEqual(inBoth(beside.edges));
        },
      ),
      { numRuns: 200 },
    );
  });

  test('of days begin at local midnight, through both clock changes', () => {
    // Reference: luxon's startOf('day'), an implementation over the same IANA zones. No tolerance: instants are exact.
    for (const zone of zones) {
      const from = DateTime.fromISO('2025-09-20T07:00', { zone }).toUTC().startOf('hour').toMillis();
      const { edges, stepHours } = bucketEdges(from, from + 200 * DAY_MS, 210, zone);
      expect(stepHours).toBe(24);
      for (const edge of edges) expect(DateTime.fromMillis(edge, { zone }).startOf('day').toMillis()).toBe(edge);
      const lengths = Array.from(edges, (edge, i) => ((edges[i + 1] ?? Number.NaN) - edge) / HOUR_MS).slice(0, -1);
      const change = zone === 'Australia/Lord_Howe' ? 0.5 : 1;
      const changing = zone === 'UTC' || zone === 'Asia/Kathmandu' ? [] : [24 - change, 24 + change];
      expect([...new Set(lengths)].filter((length) => length !== 24).sort()).toEqual(changing);
    }
  });

  test('of a span that is none are refused', () => {
    expect(() => bucketEdges(5, 5, 10, 'UTC')).toThrow(/after from/);
    expect(() => bucketEdges(0, 5, 1, 'UTC')).toThrow(/2 or more/);
  });
});

describe('readings that are few enough', () => {
  const minute = 60_000;
  const hours = { times: Float64Array.of(0, HOUR_MS), mean: Float64Array.of(7, Number.NaN) };

  test('are each shown at their own time, with an empty entry where three in a row are missing', () => {
    const readings = {
      times: Float64Array.of(0, 15 * minute, 45 * minute, 90 * minute),
      mean: Float64Array.of(1, 2, 3, 4),
    };
    const track = trackOf({
      from: 0,
      to: 2 * HOUR_MS,
      most: 100,
      zone: 'UTC',
      hours: { ...plain(hours.times, hours.mean) },
      readings,
      intervalMs: 15 * minute,
      extremes: true,
    });
    expect(track.kind).toBe('readings');
    expect(Array.from(track.mean)).toEqual([1, 2, 3, Number.NaN, 4]);
    expect(Array.from(track.count)).toEqual([1, 1, 1, 0, 1]);
    expect(track.times[3]! > 45 * minute && track.times[3]! < 90 * minute).toBe(true);
  });

  test('are left out where their hour counts nowhere', () => {
    const readings = { times: Float64Array.of(5, HOUR_MS + 5, 3 * HOUR_MS), mean: Float64Array.of(7, 8, 9) };
    const kept = readingsOfKnownHours(readings, hours);
    expect(Array.from(kept.mean)).toEqual([7]);
    expect(Array.from(kept.times)).toEqual([5]);
  });
});
