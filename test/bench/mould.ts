import { cleanSurface, mouldIndex } from '../../server/physics/mould-index.ts';
import type { MouldSensitivity } from '../../server/physics/mould-sensitivity.ts';
import type { BenchRow } from './row.ts';

const PLACES = 20;
const HOURS = 2 * 8760;
const RUNS = 40;

/** A generator that gives the same numbers on every machine (Park-Miller). */
function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

interface Place {
  readonly temperature: Float64Array;
  readonly humidity: Float64Array;
}

function places(humidityMean: number, humiditySwing: number): readonly Place[] {
  const random = seeded(20);
  return Array.from({ length: PLACES }, () => {
    const temperature = new Float64Array(HOURS);
    const humidity = new Float64Array(HOURS);
    for (let hour = 0; hour < HOURS; hour += 1) {
      const year = Math.cos((2 * Math.PI * hour) / 8760);
      const day = Math.cos((2 * Math.PI * hour) / 24);
      temperature[hour] = 13 - 4 * year - 1.5 * day + 2 * (random() - 0.5);
      humidity[hour] = Math.min(100, humidityMean + humiditySwing * (year + day / 2 + random() - 0.5));
    }
    return { temperature, humidity };
  });
}

/** Two logarithms and two exponentials an hour, as the model needs them, and nothing else. */
function bare({ temperature, humidity }: Place): number {
  let sum = 0;
  for (let hour = 0; hour < temperature.length; hour += 1) {
    sum += Math.exp(0.68 * Math.log(temperature[hour]!) + 13.9 * Math.log(humidity[hour]!) - 71.14);
    // an argument about as far from 0 as the model's: near 0 the exponential takes a short cut
    sum += Math.exp(-0.023 * humidity[hour]!);
  }
  return sum;
}

const timed = (work: () => unknown): number => {
  const from = performance.now();
  work();
  return performance.now() - from;
};

/** Both by turns, so that what disturbs the machine disturbs both; the least disturbed run of each. */
function compare(name: string, series: readonly Place[], sensitivity: MouldSensitivity): BenchRow {
  let measured = Number.POSITIVE_INFINITY;
  let limit = Number.POSITIVE_INFINITY;
  let kept = 0;
  let growthHours = 0;
  for (let run = 0; run < RUNS; run += 1) {
    growthHours = 0;
    measured = Math.min(
      measured,
      timed(() => {
        for (const { temperature, humidity } of series) {
          const { state } = mouldIndex(temperature, humidity, cleanSurface, { sensitivity });
          kept += state.index;
          growthHours += state.growthHours;
        }
      }),
    );
    limit = Math.min(
      limit,
      timed(() => {
        for (const place of series) kept += bare(place);
      }),
    );
  }
  if (!Number.isFinite(kept)) throw new Error('the benchmark computed nothing that is a number');
  const share = Math.round((100 * growthHours) / (PLACES * HOURS));
  return {
    name,
    measured,
    limit,
    unit: 'ms',
    ratio: measured / limit,
    aim: 2,
    direction: 'at most',
    note: `limit: two logarithms and two exponentials for every hour; ${share} % of hours grow`,
  };
}

/**
 * Mould index of twenty places over two years, hourly, against the logarithms and exponentials of the same hours.
 * The first row is the honest one: a slow material in lasting damp, where every hour needs them all.
 */
export async function benchMould(): Promise<BenchRow[]> {
  return [
    compare('mould index, 2 years hourly, 20 places, always damp', places(94, 3), 'resistant'),
    compare('mould index, 2 years hourly, 20 places, damp in winter', places(74, 9), 'sensitive'),
  ];
}
