import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { hoursOver } from '../../server/physics/hours-over.ts';
import {
  equilibriumMoisture,
  TIMBER_MOISTURE_LIMIT,
  type TimberState,
  timberDefaults,
  timberMoisture,
  timberTimeConstant,
  unknownTimber,
} from '../../server/physics/timber.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const steady = (length: number, value: number) => new Float64Array(length).fill(value);

describe('equilibrium moisture', () => {
  test('is finite, not negative, and rises with humidity at every temperature', () => {
    fc.assert(
      fc.property(number(-20, 100), number(0, 99), (t, h) => {
        const [drier, damper] = [equilibriumMoisture(t, h), equilibriumMoisture(t, h + 1)];
        expect(drier).toBeGreaterThanOrEqual(0);
        expect(damper).toBeGreaterThan(drier);
        expect(Number.isFinite(damper)).toBe(true);
      }),
    );
  });

  test('timber in perfectly dry air holds nothing', () => {
    expect(equilibriumMoisture(20, 0)).toBe(0);
  });
});

describe('timber that lags the air', () => {
  test('covers 63 % of a step in one time constant', () => {
    // A first-order lag: 1 - 1/e, here after a whole number of hours nearest the time constant.
    const timeConstant = timberTimeConstant(10);
    const hours = Math.round(timeConstant);
    const { moisture, timeConstantHours } = timberMoisture(steady(hours, 15), steady(hours, 90), {
      ...unknownTimber,
      moisture: 12,
    });
    expect(timeConstantHours).toBe(timeConstant);
    const goal = equilibriumMoisture(15, 90);
    expect((moisture.at(-1)! - 12) / (goal - 12)).toBeCloseTo(-Math.expm1(-hours / timeConstant), 10);
  });

  test('a plate sealed at 10 mm answers in days, at 30 mm in weeks: the square of the depth', () => {
    // 4 d² / (π² D): 4 × (0.01)² / (9.8696 × 1e-10) s = 112.6 h
    expect(timberTimeConstant(10)).toBeCloseTo(112.58, 1);
    expect(timberTimeConstant(30) / timberTimeConstant(10)).toBeCloseTo(9, 12);
  });

  test('starts in equilibrium with the first hour known, and before it is not known', () => {
    const { moisture } = timberMoisture(Float64Array.of(Number.NaN, 10, 10), Float64Array.of(90, 80, 80));
    expect(moisture[0]).toBeNaN();
    expect(moisture[1]).toBe(equilibriumMoisture(10, 80));
    expect(moisture[2]).toBe(moisture[1]);
  });

  test('every result echoes the depth and diffusivity it used', () => {
    const run = (depthMillimetres?: number) =>
      timberMoisture(
        Float64Array.of(10),
        Float64Array.of(80),
        unknownTimber,
        depthMillimetres ? { depthMillimetres } : {},
      );
    expect(run().options).toEqual(timberDefaults);
    expect(run(25).options).toEqual({ ...timberDefaults, depthMillimetres: 25 });
  });

  test('is held through a gap, and the gap is counted', () => {
    const { moisture, state } = timberMoisture(
      Float64Array.of(10, 10, Number.NaN),
      Float64Array.of(80, Number.NaN, 60),
    );
    expect([moisture[1], moisture[2]]).toEqual([moisture[0], moisture[0]]);
    expect(state).toMatchObject({ hours: 3, unknownHours: 2, moisture: moisture[0] });
  });

  test('stays between the driest and the dampest equilibrium it has met', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(number(-60, 60), number(0, 130)), { minLength: 1, maxLength: 200 }),
        number(1, 100),
        (air, depthMillimetres) => {
          const [t, h] = [Float64Array.from(air, ([a]) => a), Float64Array.from(air, ([, b]) => b)];
          const met = air.map(([a, b]) => equilibriumMoisture(Math.max(a, -20), Math.min(b, 100)));
          const { moisture } = timberMoisture(t, h, unknownTimber, { depthMillimetres });
          for (const value of moisture) {
            expect(value).toBeGreaterThanOrEqual(Math.min(...met) - 1e-9);
            expect(value).toBeLessThanOrEqual(Math.max(...met) + 1e-9);
          }
        },
      ),
    );
  });

  test('continued from a stored state equals one run, to the last bit', () => {
    const air = fc.array(
      fc.tuple(fc.oneof(number(-10, 30), fc.constant(Number.NaN)), fc.oneof(number(20, 100), fc.constant(Number.NaN))),
      { maxLength: 100 },
    );
    fc.assert(
      fc.property(air, fc.nat(100), (hours, cut) => {
        const [t, h] = [Float64Array.from(hours, ([a]) => a), Float64Array.from(hours, ([, b]) => b)];
        const whole = timberMoisture(t, h);
        const first = timberMoisture(t.subarray(0, cut), h.subarray(0, cut));
        const stored: TimberState = JSON.parse(JSON.stringify(first.state));
        const second = timberMoisture(t.subarray(cut), h.subarray(cut), stored);
        expect([...first.moisture, ...second.moisture]).toEqual([...whole.moisture]);
        expect(second.state).toEqual(whole.state);
      }),
    );
  });

  test('a wet week in the loft air is not yet wet timber, a wet winter is', () => {
    const start = { ...unknownTimber, moisture: 15 };
    const over = (hours: number) =>
      hoursOver(timberMoisture(steady(hours, 5), steady(hours, 93), start).moisture, TIMBER_MOISTURE_LIMIT, 'above');
    expect(over(48).hours).toBe(0);
    expect(over(2160).hours).toBeGreaterThan(1800);
  });

  test.each([
    ['temperature', () => equilibriumMoisture(-20.1, 50), /temperature is -20.1 °C/],
    ['humidity', () => equilibriumMoisture(20, 100.1), /humidity is 100.1 %/],
    ['air', () => timberMoisture(Float64Array.of(-61), Float64Array.of(50)), /temperature is -61 °C/],
    ['air', () => timberMoisture(Float64Array.of(Number.NaN), Float64Array.of(-1)), /humidity is -1 %/],
    ['columns', () => timberMoisture(Float64Array.of(1), Float64Array.of(1, 2)), /must have the same number/],
    [
      'state',
      () => timberMoisture(Float64Array.of(1), Float64Array.of(1), { ...unknownTimber, moisture: -1 }),
      /from.moisture is -1 %/,
    ],
    ['depth', () => timberTimeConstant(0), /depthMillimetres is 0 mm; it must be above 0/],
    ['diffusivity', () => timberTimeConstant(10, Number.NaN), /diffusivity is NaN/],
  ] as const)('refuses an impossible %s (%#)', (_, act, message) => {
    expect(act).toThrow(RangeError);
    expect(act).toThrow(message);
  });
});
