import { describe, expect, test } from 'vitest';
import { growthLimit } from '../../server/physics/growth-limit.ts';
import { cleanSurface, largestMouldIndex, mouldIndex } from '../../server/physics/mould-index.ts';
import type { MouldOptions } from '../../server/physics/mould-options.ts';
import { weeksUntil } from '../../server/physics/mould-response.ts';
import { type MouldSensitivity, mouldClasses } from '../../server/physics/mould-sensitivity.ts';
import { filled, number, type Row, table } from './table.ts';

type Hours = { temperature: Float64Array; humidity: Float64Array };

/** Repeats spells of so many hours, °C and %, over so many hours. */
function spells(hours: number, ...cycle: readonly (readonly [number, number, number])[]): Hours {
  const length = cycle.reduce((sum, [span]) => sum + span, 0);
  const at = (hour: number) => {
    let into = hour % length;
    for (const [span, t, h] of cycle) {
      if (into < span) return [t, h] as const;
      into -= span;
    }
    throw new Error('unreachable');
  };
  return {
    temperature: Float64Array.from({ length: hours }, (_, hour) => at(hour)[0]),
    humidity: Float64Array.from({ length: hours }, (_, hour) => at(hour)[1]),
  };
}

const run = ({ temperature, humidity }: Hours, options: Partial<MouldOptions>) =>
  mouldIndex(temperature, humidity, cleanSurface, options).index;

const week = 168;
const weeks12 = 12 * week;

/**
 * Weeks 1, 2, 4, 8 and 12 by an independent implementation in a public repository of the Finnish university that looks
 * after the model: W = SQ = 0, class constants, daily decline rates. Printed to four decimals.
 */
describe('the mould index of an independent implementation', () => {
  const cases: Readonly<Record<string, Hours>> = {
    '20C 97% constant': spells(weeks12, [1, 20, 97]),
    '20C 90% constant': spells(weeks12, [1, 20, 90]),
    '5C 90% constant': spells(weeks12, [1, 5, 90]),
    '12h 20C 95% / 12h 20C 60%': spells(weeks12, [12, 20, 95], [12, 20, 60]),
    '84h 10C 92% / 84h 10C 70%': spells(weeks12, [84, 10, 92], [84, 10, 70]),
  };
  test.each(table('mould-index.csv'))('$case, $sensitivity_class, decline factor $decline_factor', (row) => {
    const index = run(cases[row.case!]!, {
      sensitivity: row.sensitivity_class!.replace(' ', '-') as MouldSensitivity,
      declineFactor: number(row, 'decline_factor'),
    });
    for (const after of [1, 2, 4, 8, 12]) {
      expect(Math.abs(index[after * week - 1]! - number(row, `week_${after}`))).toBeLessThan(0.000051);
    }
  });
});

/**
 * Twelve weeks by a second independent implementation, which agrees with the first to 1e-15 in the cases they share:
 * hourly decline rates, decline factor 1, W = 0 or by class. Printed to six decimals.
 */
describe('the mould index of a second independent implementation', () => {
  const scenarios: Readonly<Record<string, Hours>> = {
    '20C_97RH': spells(weeks12, [1, 20, 97]),
    '20C_90RH': spells(weeks12, [1, 20, 90]),
    '5C_90RH': spells(weeks12, [1, 5, 90]),
    '5C_97RH': spells(weeks12, [1, 5, 97]),
    '12C_85RH': spells(weeks12, [1, 12, 85]),
    '20C_95RH12h_60RH12h': spells(weeks12, [12, 20, 95], [12, 20, 60]),
    '15C_95RH': spells(weeks12, [1, 15, 95]),
    '22C_80RH': spells(weeks12, [1, 22, 80]),
  };
  const options = (variant: string, name: string): Partial<MouldOptions> => ({
    sensitivity: name.replace('_', '-') as MouldSensitivity,
    timberTerm: variant === 'W0' ? 0 : 'by-class',
    declineFactor: 1,
    declineRates: 'per-hour',
  });
  const firstHour = (index: Float64Array, reached: number): string => {
    const at = index.findIndex((value) => value >= reached);
    return at < 0 ? '' : String(at + 1);
  };

  test.each(table('vtt-summary.csv'))('$variant, $scenario, $class', (row) => {
    const hours = scenarios[row.scenario!]!;
    const index = run(hours, options(row.variant!, row.class!));
    const material = mouldClasses[options(row.variant!, row.class!).sensitivity!];
    const limit = growthLimit(hours.temperature[0]!, material.lowestHumidity)!;
    expect(Math.abs(limit - number(row, 'RHcrit_first_phase_pct'))).toBeLessThan(0.000051);
    if (row.Mmax_first_phase !== '') {
      expect(
        Math.abs(largestMouldIndex(hours.humidity[0]!, limit, material) - number(row, 'Mmax_first_phase')),
      ).toBeLessThan(0.0000051);
    }
    expect(Math.abs(index.at(-1)! - number(row, 'M_at_2016h'))).toBeLessThan(0.00000051);
    expect(firstHour(index, 1)).toBe(row['first_hour_M>=1']);
    expect(firstHour(index, 3)).toBe(row['first_hour_M>=3']);
  });

  const trajectories = new Map<string, Row[]>();
  for (const row of table('vtt-trajectories-weekly.csv')) {
    const key = `${row.variant}, ${row.scenario}, ${row.class}`;
    trajectories.set(key, [...(trajectories.get(key) ?? []), row]);
  }
  test.each(filled('weekly trajectories', [...trajectories]))('week by week: %s', (_, rows) => {
    const { variant, scenario, class: name } = rows[0]!;
    const index = run(scenarios[scenario!]!, options(variant!, name!));
    for (const row of rows) {
      const hour = number(row, 'hour');
      const reached = hour === 0 ? 0 : index[hour - 1]!;
      expect(Math.abs(reached - number(row, 'M'))).toBeLessThan(0.00000051);
    }
  });
});

/** The 1999 form of k1, by the same second implementation. Twelve weeks, six decimals. */
describe('the growth factor from response times', () => {
  const pine = { timberTerm: 0, surfaceTerm: 0 };
  const spruce = { timberTerm: 1, surfaceTerm: 1 };
  const rows = filled('response-time form', [
    { timber: 'pine', terms: pine, state: [20, 97], end: 5.503918, one: 250, three: 502 },
    { timber: 'pine', terms: pine, state: [20, 90], end: 3.978874, one: 707, three: 1314 },
    { timber: 'pine', terms: pine, state: [5, 90], end: 1.145281, one: null, three: null },
    { timber: 'pine', terms: pine, state: [5, 97], end: 4.509688, one: 640, three: 1400 },
    { timber: 'spruce', terms: spruce, state: [20, 97], end: null, one: 207, three: 533 },
    { timber: 'spruce', terms: spruce, state: [20, 90], end: 3.898516, one: 585, three: 1399 },
    { timber: 'spruce', terms: spruce, state: [5, 90], end: 1.350515, one: null, three: null },
  ] as const);
  test.each(rows)('$timber at $state', ({ terms, state: [t, h], end, one, three }) => {
    const index = run(spells(weeks12, [1, t, h]), {
      sensitivity: 'very-sensitive',
      growthFactor: 'response-times',
      declineRates: 'per-hour',
      declineFactor: 1,
      ...terms,
    });
    if (end !== null) expect(Math.abs(index.at(-1)! - end)).toBeLessThan(0.00000051);
    if (one !== null) expect(index.findIndex((value) => value >= 1) + 1).toBe(one);
    if (three !== null) expect(index.findIndex((value) => value >= 3) + 1).toBe(three);
  });
});

describe('the published regressions, evaluated independently', () => {
  // pine, resawn; printed to the digits shown
  test.each(
    filled('weeks to index 1', [
      [20, 97, 1.4835],
      [20, 90, 4.2019],
      [20, 80, 21.601], // 21.60083 at forty digits
      [10, 95, 3.1751],
      [5, 97, 3.808],
      [5, 90, 10.786],
      [40, 97, 0.926],
    ] as const),
  )('%d °C and %d %%: first growth after %d weeks', (t, h, wanted) => {
    expect(Math.abs(weeksUntil('first', t, h) - wanted)).toBeLessThan(wanted > 10 ? 0.00051 : 0.000051);
  });

  test.each(
    filled('weeks to index 3', [
      [20, 97, 2.9827],
      [20, 90, 7.7336],
      [5, 97, 8.3202],
      [5, 90, 21.573],
      [40, 97, 1.7859],
    ] as const),
  )('%d °C and %d %%: visible growth after %d weeks', (t, h, wanted) => {
    expect(Math.abs(weeksUntil('visible', t, h) - wanted)).toBeLessThan(wanted > 10 ? 0.00051 : 0.000051);
  });

  test.each(
    filled('growth limit', [
      [1, 97.0273],
      [2, 94.3586],
      [5, 88.0162],
      [7, 85.0142],
      [10, 82.03],
      [12, 80.8662],
      [15, 80.0388],
      [18, 79.9286],
      [20, 80.04],
    ] as const),
  )('the curve at %d °C', (t, wanted) => {
    expect(Math.abs(growthLimit(t, 60)! - wanted)).toBeLessThan(0.000051);
  });

  test('the dip of the curve under 80 % near 18 °C is floored, unless asked otherwise', () => {
    expect(growthLimit(18)).toBe(80);
    expect(growthLimit(18, 80, 'above-20-only')).toBeLessThan(80);
    expect(growthLimit(25, 85, 'above-20-only')).toBe(85);
  });
});

describe('decline in dry air from index 2', () => {
  const dry = (declineFactor: number) =>
    mouldIndex(
      new Float64Array(336).fill(20),
      new Float64Array(336).fill(40),
      { ...cleanSurface, index: 2, highest: 2 },
      { declineFactor, declineRates: 'per-hour' },
    ).index;

  test.each(
    filled('decline', [
      [1, 1.99867],
      [6, 1.99202],
      [24, 1.99202],
      [25, 1.991353],
      [48, 1.976012],
      [168, 1.895972],
      [336, 1.783916],
    ] as const),
  )('after %d hours %d', (hour, wanted) => {
    expect(Math.abs(dry(1)[hour - 1]! - wanted)).toBeLessThan(0.00000051);
  });

  test('a decline factor of a quarter slows it to a quarter', () => {
    expect(Math.abs(dry(0.25)[335]! - 1.945979)).toBeLessThan(0.00000051);
  });
});
