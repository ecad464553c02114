import { type Column, medianOf, robustSpread, within } from './calibrating.ts';
import { HOUR_MS } from './vocabulary.ts';

/** When a running series counts as come to rest. */
export interface SteadinessLimits {
  /** h from its beginning during which it is not asked */
  readonly settlingHours: number;
  /** h up to now over which it is judged */
  readonly windowHours: number;
  /** steepest slope, in its unit per hour */
  readonly slopePerHour: number;
  /** largest scatter about that slope, a standard deviation in its unit */
  readonly scatter: number;
  readonly fewestReadings: number;
}

/**
 * How steady a series is. settling: it must wait still, or has too few readings, or moves on in one direction. stable:
 * settled, level and quiet. unstable: settled by the clock, but it jumps about: a lid not closed, sun, a fan, a loose wire.
 */
export interface Steadiness {
  readonly kind: 'settling' | 'stable' | 'unstable';
  /** in its unit per hour over the window; null: too few readings */
  readonly slopePerHour: number | null;
  /** standard deviation about that slope, single wild readings not counted; null: too few readings */
  readonly scatter: number | null;
  /** UTC milliseconds from which the readings were judged; the time of settling is left out once it is over */
  readonly from: number;
  /** readings judged */
  readonly readings: number;
  readonly hoursSince: number;
  /** h until it has settled by the clock; 0: it has */
  readonly hoursLeft: number;
  readonly limits: SteadinessLimits;
}

/**
 * Limits no source gives: what a cheap sensor's noise allows to be told from rest over the window (common practice).
 * A window holds enough readings of a sensor that reports four times an hour.
 */
export const steadinessLimits = Object.freeze({
  'side-by-side': {
    temperature: { windowHours: 1, slopePerHour: 0.5, scatter: 0.3, fewestReadings: 4 },
    humidity: { windowHours: 1, slopePerHour: 2, scatter: 1, fewestReadings: 4 },
  },
  salt: {
    temperature: { windowHours: 3, slopePerHour: 0.3, scatter: 0.2, fewestReadings: 6 },
    humidity: { windowHours: 3, slopePerHour: 0.2, scatter: 0.6, fewestReadings: 6 },
  },
  'ice-point': {
    temperature: { windowHours: 0.75, slopePerHour: 0.2, scatter: 0.1, fewestReadings: 4 },
  },
});

/**
 * Judges whether a series has come to rest. The slope is the median of the slopes between all pairs of readings, which up
 * to a quarter of wild readings cannot turn.
 *
 * @param begun UTC milliseconds at which the sensor was put there
 * @param now UTC milliseconds; readings from then on are not looked at
 * @source Sen (1968), Journal of the American Statistical Association 63, 1379-1389, for the slope
 */
export function judgeSteadiness(column: Column, begun: number, now: number, limits: SteadinessLimits): Steadiness {
  const hoursSince = Math.max(0, (now - begun) / HOUR_MS);
  const hoursLeft = Math.max(0, limits.settlingHours - hoursSince);
  const settled = hoursLeft > 0 ? begun : begun + limits.settlingHours * HOUR_MS;
  const from = Math.max(settled, now - limits.windowHours * HOUR_MS);
  const { times, values } = within(column, from, now);
  const common = { from, readings: times.length, hoursSince, hoursLeft, limits };
  if (times.length < limits.fewestReadings) return { kind: 'settling', slopePerHour: null, scatter: null, ...common };
  const slopePerHour = medianSlope(times, values);
  const level = values.map((value, k) => value - (slopePerHour * (times[k]! - now)) / HOUR_MS);
  const scatter = robustSpread(level);
  const figures = { slopePerHour, scatter, ...common };
  if (hoursLeft > 0 || !(Math.abs(slopePerHour) <= limits.slopePerHour)) return { kind: 'settling', ...figures };
  return { kind: scatter <= limits.scatter ? 'stable' : 'unstable', ...figures };
}

/** Most readings looked at in pairs; of more, every second, third and so on. */
const MOST_IN_PAIRS = 200;

function medianSlope(times: Float64Array, values: Float64Array): number {
  const stride = Math.ceil(times.length / MOST_IN_PAIRS);
  const slopes: number[] = [];
  for (let i = 0; i < times.length; i += stride) {
    for (let j = i + stride; j < times.length; j += stride) {
      slopes.push(((values[j]! - values[i]!) * HOUR_MS) / (times[j]! - times[i]!));
    }
  }
  return medianOf(slopes);
}
