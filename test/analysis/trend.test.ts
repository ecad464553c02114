import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { trendOf, trendSettings, trendSpan } from '../../server/analysis/trend.ts';

const of = (...values: (number | null)[]) =>
  trendOf(
    'temperature',
    Float64Array.from(values, (value) => value ?? Number.NaN),
  );

describe('the trend of the last hours', () => {
  it('rises and falls by the line of least squares, with its interval', () => {
    // worked by hand: slope 0.5143 K/h, residual sum 0.1714, t(4) = 2.776 (NIST 1.3.6.7.2), spread 17.5
    const trend = of(10, 10.8, 11, 11.6, 12.4, 12.6)!;
    const slope = (-2.5 * 10 - 1.5 * 10.8 - 0.5 * 11 + 0.5 * 11.6 + 1.5 * 12.4 + 2.5 * 12.6) / 17.5;
    const residuals = [10, 10.8, 11, 11.6, 12.4, 12.6].map((v, i) => v - 11.4 - slope * (i - 2.5));
    const half = 5 * 2.776 * Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / 4 / 17.5);
    expect(trend.kind).toBe('rising');
    expect(trend.change).toBeCloseTo(slope * 5, 9);
    expect(trend.plusMinus).toBeCloseTo(half, 9);
    expect(of(12.6, 12.4, 11.6, 11, 10.8, 10)!.kind).toBe('falling');
  });

  it('is steady where scatter could have made the change', () => {
    expect(of(10, 12, 9, 13, 10, 12)!.kind).toBe('steady');
  });

  it('is steady where the change is within what a sensor wanders by itself, however straight', () => {
    const { temperature } = trendSettings.wander;
    const line = (change: number) => of(...[0, 1, 2, 3, 4, 5].map((hour) => 10 + (change * hour) / 5))!;
    expect(line(temperature * 0.98)).toMatchObject({ kind: 'steady', plusMinus: temperature });
    expect(line(-temperature * 1.02).kind).toBe('falling');
  });

  it('is not known from too few hours, nor from hours long past', () => {
    expect(of()).toBeNull();
    expect(of(null, null, null, 10, 11, 12)).toBeNull();
    expect(of(8, 9, 10, 11, null, null)).toBeNull();
    expect(of(8, 9, 10, 11, 12, null)!.kind).toBe('rising');
    expect(of(null, 9, null, 11, 12, 13)!.hours).toBe(4);
  });

  it('does not depend on a constant error of the sensor, and turns round when time does', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -20, max: 40, noNaN: true }), { minLength: 6, maxLength: 6 }),
        fc.double({ min: -2, max: 2, noNaN: true }),
        (values, offset) => {
          const trend = of(...values)!;
          const moved = of(...values.map((value) => value + offset))!;
          expect(moved.change).toBeCloseTo(trend.change, 6);
          expect(moved.plusMinus).toBeCloseTo(trend.plusMinus, 6);
          expect(of(...values.toReversed())!.change).toBeCloseTo(-trend.change, 6);
        },
      ),
    );
  });

  it('calls still air rising or falling no more often than its 95 % interval allows', () => {
    // Noise far above what a sensor wanders, from a fixed generator (Park & Miller 1988), twelve draws a value.
    let state = 20260114;
    const uniform = () => {
      state = (state * 48271) % 2147483647;
      return state / 2147483647;
    };
    const normal = () => Array.from({ length: 12 }, uniform).reduce((sum, u) => sum + u, -6);
    const runs = 4000;
    let moved = 0;
    for (let run = 0; run < runs; run++) {
      if (of(...Array.from({ length: 6 }, () => 10 + 2 * normal()))!.kind !== 'steady') moved++;
    }
    // 5 % of 4,000 give or take three standard deviations of the count
    expect(moved / runs).toBeGreaterThan(0.05 - 3 * Math.sqrt((0.05 * 0.95) / runs));
    expect(moved / runs).toBeLessThan(0.05 + 3 * Math.sqrt((0.05 * 0.95) / runs));
  });

  it('looks at whole hours before the moment only', () => {
    const time = Date.UTC(2026, 0, 14, 22, 10);
    expect(trendSpan(time)).toEqual({ from: Date.UTC(2026, 0, 14, 16), to: Date.UTC(2026, 0, 14, 22) });
  });
});
