import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { growthLimit, hoursOverGrowthLimit } from '../../server/physics/growth-limit.ts';
import { hoursOver, riskHours } from '../../server/physics/hours-over.ts';
import { cleanSurface, largestMouldIndex, type MouldState, mouldIndex } from '../../server/physics/mould-index.ts';
import { type MouldOptions, mouldDefaults } from '../../server/physics/mould-options.ts';
import { weeksUntil } from '../../server/physics/mould-response.ts';
import { mouldClasses, mouldSensitivities } from '../../server/physics/mould-sensitivity.ts';
import { mouldStage, mouldStages } from '../../server/physics/mould-stage.ts';

const hour = fc.record({
  t: fc.oneof(
    { weight: 8, arbitrary: fc.double({ min: -60, max: 100, noNaN: true }) },
    { weight: 8, arbitrary: fc.double({ min: 0, max: 25, noNaN: true }) },
    fc.constant(Number.NaN),
    fc.constantFrom(0, 20, 50, 5e-324),
  ),
  h: fc.oneof(
    { weight: 8, arbitrary: fc.double({ min: 75, max: 130, noNaN: true }) },
    { weight: 3, arbitrary: fc.double({ min: 0, max: 100, noNaN: true }) },
    fc.constant(Number.NaN),
    fc.constantFrom(0, 80, 100),
  ),
});
const story = fc.array(hour, { maxLength: 400 }).map((hours) => ({
  t: Float64Array.from(hours, ({ t }) => t),
  h: Float64Array.from(hours, ({ h }) => h),
}));
const anyOptions: fc.Arbitrary<Partial<MouldOptions>> = fc.oneof(
  fc.record({
    sensitivity: fc.constantFrom(...mouldSensitivities),
    timberTerm: fc.oneof(fc.constant('by-class' as const), fc.double({ min: 0, max: 1, noNaN: true })),
    surfaceTerm: fc.double({ min: 0, max: 1, noNaN: true }),
    declineFactor: fc.double({ min: 0, max: 1, noNaN: true }),
    declineRates: fc.constantFrom('per-day' as const, 'per-hour' as const),
    humidityFloor: fc.constantFrom('at-all-temperatures' as const, 'above-20-only' as const),
    growthAtLimit: fc.constantFrom('at-or-above' as const, 'above' as const),
  }),
  fc.record({
    sensitivity: fc.constant('very-sensitive' as const),
    growthFactor: fc.constant('response-times' as const),
    timberTerm: fc.double({ min: 0, max: 1, noNaN: true }),
    surfaceTerm: fc.double({ min: 0, max: 1, noNaN: true }),
  }),
);
const index = fc.double({ min: 0, max: 6, noNaN: true });

describe('mould index', () => {
  test('stays between 0 and 6 and finite, whatever the hours, gaps and options', () => {
    fc.assert(
      fc.property(story, anyOptions, index, ({ t, h }, options, start) => {
        const { index: path, state } = mouldIndex(t, h, { ...cleanSurface, index: start, highest: start }, options);
        for (const value of path) expect(value >= 0 && value <= 6).toBe(true);
        expect(state.highest).toBeGreaterThanOrEqual(path.reduce((a, b) => Math.max(a, b), start));
      }),
      { numRuns: 300 },
    );
  });

  test('continued from a stored state equals the same hours in one run, to the last bit', () => {
    fc.assert(
      fc.property(story, anyOptions, fc.nat(400), ({ t, h }, options, cut) => {
        const whole = mouldIndex(t, h, cleanSurface, options);
        const first = mouldIndex(t.subarray(0, cut), h.subarray(0, cut), cleanSurface, options);
        const stored: MouldState = JSON.parse(JSON.stringify(first.state));
        const second = mouldIndex(t.subarray(cut), h.subarray(cut), stored, options);
        expect([...first.index, ...second.index]).toEqual([...whole.index]);
        expect(second.state).toEqual(whole.state);
      }),
      { numRuns: 300 },
    );
  });

  test('does not rise where the air is made drier', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 45, noNaN: true }),
        fc.double({ min: 70, max: 100, noNaN: true }),
        fc.double({ min: 0, max: 30, noNaN: true }),
        fc.constantFrom(...mouldSensitivities),
        (t, h, less, sensitivity) => {
          const temperature = new Float64Array(1000).fill(t);
          const end = (humidity: number) =>
            mouldIndex(temperature, new Float64Array(1000).fill(humidity), cleanSurface, { sensitivity }).state.index;
          expect(end(h - less)).toBeLessThanOrEqual(end(h) + 1e-12);
        },
      ),
    );
  });

  test('is held through a gap, which neither dries the surface nor ends its drying', () => {
    const dry = { t: [20, 20, 20, 20, 20, 20, 20, 20], h: [50, 50, 50, 50, 50, 50, 50, 50] };
    const gap = { t: [20, 20, 20, Number.NaN, 20, 20, 20, 20, 20], h: [50, 50, 50, 50, 50, 50, 50, Number.NaN, 50] };
    const from = { ...cleanSurface, index: 2, highest: 2 };
    const without = mouldIndex(Float64Array.from(dry.t.slice(1)), Float64Array.from(dry.h.slice(1)), from);
    const across = mouldIndex(Float64Array.from(gap.t), Float64Array.from(gap.h), from);
    expect(across.index[3]).toBe(across.index[2]);
    expect(across.state).toMatchObject({ index: without.state.index, dryHours: 7, unknownHours: 2, hours: 9 });
  });

  test('a growth hour starts the dry time anew, so short wet spells bring back the fast decline', () => {
    const { state } = mouldIndex(Float64Array.of(20, 20, 20), Float64Array.of(50, 95, 50));
    expect(state.dryHours).toBe(1);
    expect(state.growthHours).toBe(1);
  });

  test('frost and heat count as dry', () => {
    const { state } = mouldIndex(Float64Array.of(0, -5, 50.1), Float64Array.of(100, 100, 100), {
      ...cleanSurface,
      index: 1,
    });
    expect(state.dryHours).toBe(3);
    expect(state.index).toBeLessThan(1);
  });

  test('at the growth limit exactly, mould grows unless only humidity above it counts', () => {
    const [t, h] = [new Float64Array(100).fill(25), new Float64Array(100).fill(80)];
    expect(mouldIndex(t, h).state.growthHours).toBe(100);
    expect(mouldIndex(t, h, cleanSurface, { growthAtLimit: 'above' }).state.growthHours).toBe(0);
  });

  test('a wet surface grows as one at 100 %', () => {
    const t = new Float64Array(500).fill(12);
    const end = (humidity: number) => mouldIndex(t, new Float64Array(500).fill(humidity)).state.index;
    expect(end(140)).toBe(end(100));
    expect(end(100)).toBeGreaterThan(end(99));
  });

  test('every result echoes every option', () => {
    expect(mouldIndex(new Float64Array(0), new Float64Array(0)).options).toEqual(mouldDefaults);
    expect(mouldIndex(new Float64Array(0), new Float64Array(0), cleanSurface, { declineFactor: 0.1 }).options).toEqual({
      ...mouldDefaults,
      declineFactor: 0.1,
    });
  });

  test('does not change what it was given', () => {
    const [t, h] = [Float64Array.of(20, Number.NaN), Float64Array.of(130, 90)];
    mouldIndex(t, h);
    expect([...t, ...h]).toEqual([20, Number.NaN, 130, 90]);
  });

  test.each([
    ['temperature', () => mouldIndex(Float64Array.of(20, 101), Float64Array.of(90, 90)), /temperature\[1\] is 101 °C/],
    ['humidity', () => mouldIndex(Float64Array.of(20), Float64Array.of(-1)), /humidity\[0\] is -1 %/],
    ['humidity', () => mouldIndex(Float64Array.of(Number.NaN), Float64Array.of(-1)), /humidity\[0\] is -1 %/],
    ['humidity', () => mouldIndex(Float64Array.of(20), Float64Array.of(Number.POSITIVE_INFINITY)), /is Infinity %/],
    ['columns', () => mouldIndex(Float64Array.of(20), Float64Array.of(90, 90)), /must have the same number/],
    ['state', () => mouldIndex(new Float64Array(1), new Float64Array(1), { ...cleanSurface, index: 7 }), /from.index/],
    [
      'state',
      () => mouldIndex(new Float64Array(1), new Float64Array(1), { ...cleanSurface, dryHours: Number.NaN }),
      /from.dryHours is NaN h/,
    ],
    [
      'decline factor',
      () => mouldIndex(new Float64Array(1), new Float64Array(1), cleanSurface, { declineFactor: 2 }),
      /declineFactor is 2;/,
    ],
    [
      'k1',
      () => mouldIndex(new Float64Array(1), new Float64Array(1), cleanSurface, { growthFactor: 'response-times' }),
      /published for untreated timber/,
    ],
    [
      'class',
      () =>
        mouldIndex(new Float64Array(1), new Float64Array(1), cleanSurface, {
          sensitivity: 'chalk' as 'resistant',
        }),
      /sensitivity is chalk; it must be one of very-sensitive/,
    ],
    [
      'rate',
      () =>
        mouldIndex(new Float64Array(1), new Float64Array(1), cleanSurface, {
          declineRates: 'per-year' as 'per-day',
        }),
      /declineRates is per-year; it must be one of per-day, per-hour/,
    ],
    ['weeks', () => weeksUntil('first', 0, 90), /temperature is 0 °C/],
    ['weeks', () => weeksUntil('first', 20, 101), /humidity is 101 %/],
    ['weeks', () => weeksUntil('visible', 20, 49), /humidity is 49 %/],
    ['largest', () => largestMouldIndex(79, 80, mouldClasses.resistant), /humidity is 79 %/],
    ['limit', () => growthLimit(Number.NaN), /temperature is NaN/],
    ['limit', () => growthLimit(10, 20), /lowestHumidity is 20 %/],
    ['stage', () => mouldStage(6.1), /index is 6.1;/],
  ] as const)('refuses an impossible %s (%#)', (_, act, message) => {
    expect(act).toThrow(RangeError);
    expect(act).toThrow(message);
  });
});

describe('stage in words', () => {
  test('is the last whole index passed, and visible from 3', () => {
    expect([0, 0.99, 1, 2.5, 2.999, 3, 4.2, 5, 6].map((value) => mouldStage(value).stage)).toEqual([
      0, 0, 1, 2, 2, 3, 4, 5, 6,
    ]);
    expect(mouldStages.filter(({ visible }) => visible).map(({ stage }) => stage)).toEqual([3, 4, 5, 6]);
  });
});

describe('hours over', () => {
  const values = Float64Array.of(79, 80, 81, Number.NaN, 80);

  test('an hour at the limit counts, unless only above does; an unknown hour counts nowhere', () => {
    expect(hoursOver(values, 80)).toEqual({
      hours: 3,
      knownHours: 4,
      unknownHours: 1,
      limit: 80,
      comparison: 'at-or-above',
    });
    expect(hoursOver(values, 80, 'above').hours).toBe(1);
  });

  test('a frozen surface has no risk hours', () => {
    expect(riskHours(Float64Array.of(5, 0, -1, 5, Number.NaN), values)).toMatchObject({
      hours: 0,
      knownHours: 3,
      unknownHours: 2,
    });
    expect(riskHours(Float64Array.of(5, 0.1, -1, 5, 5), values)).toMatchObject({ hours: 2, knownHours: 4 });
  });

  test('a cold surface needs more humidity to be over the growth limit', () => {
    const humid = Float64Array.of(85, 85, 85, 85, Number.NaN);
    // 88 % at 5 °C, 82 % at 10 °C, 80 % at 20 °C, none at 0 °C
    expect(hoursOverGrowthLimit(Float64Array.of(5, 10, 20, 0, 20), humid)).toMatchObject({
      hours: 2,
      knownHours: 4,
      unknownHours: 1,
    });
  });

  test('no growth at any humidity in frost or heat', () => {
    expect([growthLimit(0), growthLimit(-10), growthLimit(50.01)]).toEqual([null, null, null]);
    expect(growthLimit(50)).toBe(80);
  });
});
