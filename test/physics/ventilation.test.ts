import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { airChangesFromDecay } from '../../server/physics/air-change-decay.ts';
import { airChangesFromProduction, steadyVapourExcess, vapourProduction } from '../../server/physics/vapour-balance.ts';
import { normal } from './seeded.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const co2 = { tracer: 'co2', backgroundUncertainty: 0, smallestExcess: 30 } as const;
const hours = Array.from({ length: 25 }, (_, i) => i / 12);
const decay = (n: number, start: number, background: number, noise: () => number = () => 0) =>
  hours.map((hour) => background + start * Math.exp(-n * hour) + noise());

describe('air changes from a decay', () => {
  test('recovers any air change from a clean decay, in any order', () => {
    fc.assert(
      fc.property(number(0.05, 3), number(300, 3000), number(380, 480), (n, start, background) => {
        fc.pre(start * Math.exp(-n * 2) > 1);
        const result = airChangesFromDecay(hours.toReversed(), decay(n, start, background).toReversed(), background, {
          ...co2,
          smallestExcess: 0,
        });
        if (result.kind !== 'air-changes') throw new Error('a decay was expected');
        expect(result.airChanges).toBeCloseTo(n, 6);
        expect(result.excessAtStart).toBeCloseTo(start, 4);
      }),
    );
  });

  test('gives the same for clock hours since 1970 as for hours since the start', () => {
    const readings = decay(0.6, 1200, 420);
    const clock = hours.map((hour) => 490_000 + hour);
    const result = airChangesFromDecay(clock, readings, 420, co2);
    if (result.kind !== 'air-changes') throw new Error('a decay was expected');
    // 490 000 h leaves 1e-10 h to a double
    expect(result.airChanges).toBeCloseTo(0.6, 8);
    expect(result.excessAtStart).toBeCloseTo(1200, 5);
  });

  test('never gives NaN or infinity, whatever the readings', () => {
    const reading = fc.tuple(number(-1e6, 1e6), fc.oneof(number(0, 1e9), number(0, 1e-9), fc.constant(Number.NaN)));
    fc.assert(
      fc.property(fc.array(reading, { maxLength: 20 }), number(0, 1000), (readings, background) => {
        const result = airChangesFromDecay(
          readings.map(([hour]) => hour),
          readings.map(([, value]) => value),
          background,
          { tracer: 'vapour', backgroundUncertainty: 1, smallestExcess: 0 },
        );
        if (result.kind !== 'air-changes') return;
        for (const value of [result.airChanges, result.standardUncertainty, result.excessAtStart]) {
          expect(Number.isFinite(value)).toBe(true);
        }
      }),
    );
  });

  test('the standard uncertainty covers the truth about as often as it claims', () => {
    // 400 noisy decays; within 2.07 standard uncertainties (Student, 23 degrees of freedom) the truth lies 95 % of the
    // time. Binomial scatter of 400 trials is 1.1 %; four of those, and a little for the noise being that of the
    // concentration rather than of its logarithm.
    const noise = normal(7);
    let covered = 0;
    for (let trial = 0; trial < 400; trial += 1) {
      const result = airChangesFromDecay(
        hours,
        decay(0.6, 1200, 420, () => 12 * noise()),
        420,
        co2,
      );
      if (result.kind === 'air-changes' && Math.abs(result.airChanges - 0.6) <= 2.07 * result.standardUncertainty) {
        covered += 1;
      }
    }
    expect(covered / 400).toBeGreaterThan(0.95 - 0.06);
    expect(covered / 400).toBeLessThan(0.995);
  });

  test('an uncertain background moves the result by what it is said to', () => {
    const readings = decay(0.6, 1200, 420);
    const at = (background: number) => {
      const result = airChangesFromDecay(hours, readings, background, { ...co2, backgroundUncertainty: 20 });
      if (result.kind !== 'air-changes') throw new Error('a decay was expected');
      return result;
    };
    // A central difference over ± 5 ppm of a smooth function: third-order remainder under 1 %.
    const moved = Math.abs(at(425).airChanges - at(415).airChanges) / 10;
    expect(at(420).standardUncertainty / (20 * moved)).toBeGreaterThan(0.98);
    expect(at(420).standardUncertainty / (20 * moved)).toBeLessThan(1.02);
  });

  test('readings near the background and missing ones are left out and counted', () => {
    const readings = [...decay(1, 800, 420), 440, Number.NaN];
    const result = airChangesFromDecay([...hours, 4, 5], readings, 420, co2);
    expect(result).toMatchObject({ kind: 'air-changes', pointsUsed: 25, pointsLeftOut: 2 });
    expect(result.notices.map(({ code }) => code)).toEqual(['excess-too-small']);
  });

  test('vapour says that it is buffered, a short watch that it is short', () => {
    const codes = airChangesFromDecay([0, 0.1, 0.2], [0.01, 0.0099, 0.0098], 0.005, {
      tracer: 'vapour',
      backgroundUncertainty: 0,
      smallestExcess: 0,
    }).notices.map(({ code }) => code);
    expect(codes).toEqual(['little-decay', 'moisture-is-buffered']);
  });

  test('somebody coming home in between shows', () => {
    const readings = decay(0.5, 900, 420).map((value, i) => (i > 12 ? value + 500 : value));
    const codes = airChangesFromDecay(hours, readings, 420, co2).notices.map(({ code }) => code);
    expect(codes.some((code) => code === 'not-a-straight-line' || code === 'no-decay')).toBe(true);
  });

  test('two readings, or a rise, are not enough', () => {
    expect(airChangesFromDecay([0, 1], [900, 700], 420, co2)).toMatchObject({
      kind: 'not-enough',
      notices: [{ code: 'too-few-points', data: { points: 2 } }],
    });
    expect(airChangesFromDecay([1, 1, 1], [900, 800, 700], 420, co2)).toMatchObject({ kind: 'not-enough' });
    expect(airChangesFromDecay([0, 1, 2], [700, 800, 900], 420, co2)).toMatchObject({
      kind: 'not-enough',
      notices: [{ code: 'no-decay' }],
    });
    expect(airChangesFromDecay([], [], 420, co2)).toMatchObject({ kind: 'not-enough' });
  });

  test('what cannot be is refused', () => {
    expect(() => airChangesFromDecay([0], [900, 800], 420, co2)).toThrow(/must have the same number/);
    expect(() => airChangesFromDecay([0, 1, 2], [900, 800, 700], Number.NaN, co2)).toThrow(/background is NaN/);
    expect(() => airChangesFromDecay([0, 1, 2], [900, -5, 700], 0, co2)).toThrow(/concentrations\[1\] is -5/);
  });
});

describe('the steady vapour balance', () => {
  test('production and air changes undo the excess', () => {
    fc.assert(
      fc.property(number(0.01, 2), number(0.1, 5), number(5, 500), (production, n, volume) => {
        const excess = steadyVapourExcess(production, n, volume);
        fc.pre(excess > 1e-6 && excess < 0.1);
        expect(vapourProduction(excess, n, volume)).toBeCloseTo(production, 9);
        expect(airChangesFromProduction(production, excess, volume)).toBeCloseTo(n, 9);
      }),
    );
  });

  test('twice the air halves the excess', () => {
    expect(steadyVapourExcess(0.2, 1, 50)).toBeCloseTo(steadyVapourExcess(0.2, 0.5, 50) / 2, 15);
  });

  test.each([
    ['air changes', () => steadyVapourExcess(0.1, 0, 30), /airChanges is 0 \/h; it must be above 0/],
    ['volume', () => vapourProduction(0.001, 1, 0), /volume is 0 m³/],
    ['excess', () => airChangesFromProduction(0.1, 0, 30), /excess is 0 kg\/m³/],
    ['production', () => steadyVapourExcess(-1, 1, 30), /production is -1 kg\/h/],
  ] as const)('refuses an impossible %s', (_, act, message) => {
    expect(act).toThrow(RangeError);
    expect(act).toThrow(message);
  });
});
