import { HOUR_MS } from '../vocabulary.ts';
import type { Readings, SensorWindow } from './finding.ts';

/** A stretch of readings that have something in common, ends included. */
export interface Run {
  /** indices of its first and last reading */
  readonly first: number;
  readonly last: number;
}

/** Runs of readings for which `holds` is true, in order. */
export function runsOf(length: number, holds: (k: number) => boolean): Run[] {
  const runs: Run[] = [];
  for (let k = 0; k < length; k++) {
    if (!holds(k)) continue;
    const first = k;
    while (k + 1 < length && holds(k + 1)) k++;
    runs.push({ first, last: k });
  }
  return runs;
}

/** Median of values without NaN; NaN of none. */
export function medianOf(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  const middle = sorted.length >>> 1;
  if (sorted.length === 0) return Number.NaN;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/** The series that stands for a sensor where its quantities do not matter: the one with the most readings, battery last. */
export function mainSeries({ series }: SensorWindow): Readings | null {
  const { battery, ...measured } = series;
  const all = Object.values(measured).filter((readings) => readings.times.length > 0);
  all.sort((a, b) => b.times.length - a.times.length);
  return all[0] ?? (battery && battery.times.length > 0 ? battery : null);
}

/** Usual spacing of a series, ms: as it is known, else the median. NaN: fewer than two readings. */
export function spacingOf({ times, intervalSeconds }: Readings): number {
  if (intervalSeconds !== null) return intervalSeconds * 1000;
  return medianOf(times.subarray(1).map((time, k) => time - times[k]!));
}

/** A time span in words: `40 minutes`, `14 hours`, `3 days`. */
export function spanWords(ms: number): string {
  const round = (value: number): number => Math.round(value);
  const minutes = round(ms / 60_000);
  if (minutes < 100) return `${minutes} ${minutes === 1 ? 'minute' : 'minutes'}`;
  const hours = round(ms / HOUR_MS);
  return hours < 72 ? `${hours} hours` : `${round(hours / 24)} days`;
}

/** Slope of a straight line through points, and its 95 % interval, in value per time. */
export interface RobustSlope {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

const Z_95 = 1.959964;

/**
 * The median of the slopes between all pairs of points: a fifth of them may be wild without moving it.
 *
 * @returns null for fewer than four points at different times
 * @source P. K. Sen (1968), J. Am. Stat. Assoc. 63, 1379: slope and, from the variance of Kendall's S without ties, its
 * interval
 */
export function robustSlope(times: ArrayLike<number>, values: ArrayLike<number>): RobustSlope | null {
  const n = times.length;
  const slopes: number[] = [];
  for (let j = 1; j < n; j++) {
    for (let i = 0; i < j; i++) {
      const apart = times[j]! - times[i]!;
      if (apart > 0) slopes.push((values[j]! - values[i]!) / apart);
    }
  }
  if (n < 4 || slopes.length === 0) return null;
  slopes.sort((a, b) => a - b);
  const reach = (Z_95 * Math.sqrt((n * (n - 1) * (2 * n + 5)) / 18)) / 2;
  const at = (rank: number): number => slopes[Math.min(slopes.length - 1, Math.max(0, Math.round(rank)))]!;
  const middle = (slopes.length - 1) / 2;
  return { value: medianOf(slopes), low: at(middle - reach), high: at(middle + reach) };
}
