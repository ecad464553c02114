import { type Buckets, bucketEdges } from './bucket-edges.ts';
import { type Envelope, envelope, type Samples } from './envelope.ts';
import { HOUR_MS } from './vocabulary.ts';

/**
 * A figure over time as a drawing wants it: no more entries than asked for, no peak lost, and a gap where nothing is
 * known.
 */
export interface Track extends Envelope {
  /** each entry is one reading at its own time, or a bucket from its time to the next */
  readonly kind: 'readings' | 'buckets';
  /** usual length of a bucket, hours; null for readings */
  readonly stepHours: number | null;
  /** UTC milliseconds of each entry, ascending */
  readonly times: Float64Array;
  /** UTC milliseconds at which the last entry ends */
  readonly end: number;
}

export interface TrackInput {
  /** whole UTC hours */
  readonly from: number;
  readonly to: number;
  readonly most: number;
  readonly zone: string;
  /** hours of the span, and what is known of them */
  readonly hours: Samples;
  /** readings of the hours that count; null: it is not measured, or they would be more than asked for */
  readonly readings: Pick<Samples, 'times' | 'mean'> | null;
  /** usual spacing of the readings, ms */
  readonly intervalMs: number;
  /** whether the hours keep the extremes of their readings; else buckets are made of readings, where there are any */
  readonly extremes: boolean;
}

/** Readings further apart than so many of their intervals have a gap between them. No source: common practice. */
const GAP_INTERVALS = 2.5;

/** Reading by reading where they are few enough, else by buckets of hours. */
export function trackOf(input: TrackInput): Track {
  const { from, to, most, zone, hours, readings, intervalMs, extremes } = input;
  if (readings !== null && readings.times.length > 0 && readings.times.length <= most) {
    const each = eachReading(readings, GAP_INTERVALS * intervalMs, to);
    if (each.times.length <= most) return each;
  }
  const { edges, stepHours }: Buckets = bucketEdges(from, to, most, zone);
  const samples = readings === null || extremes ? hours : { ...readings, low: readings.mean, high: readings.mean };
  return {
    kind: 'buckets',
    stepHours,
    times: edges.subarray(0, -1),
    end: edges[edges.length - 1]!,
    ...envelope(samples, edges),
  };
}

/** Readings as they are, with an empty entry in the middle of each gap. */
function eachReading({ times, mean }: Pick<Samples, 'times' | 'mean'>, gapMs: number, end: number): Track {
  const at: number[] = [];
  const values: number[] = [];
  for (let k = 0; k < times.length; k++) {
    const time = times[k]!;
    const last = at.at(-1);
    if (last !== undefined && time - last > gapMs) {
      at.push((last + time) / 2);
      values.push(Number.NaN);
    }
    at.push(time);
    values.push(mean[k]!);
  }
  const column = Float64Array.from(values);
  return {
    kind: 'readings',
    stepHours: null,
    times: Float64Array.from(at),
    end,
    min: column,
    mean: column,
    max: column,
    count: Int32Array.from(values, (value) => (Number.isNaN(value) ? 0 : 1)),
  };
}

/** Readings without those of hours that count nowhere: `known` is NaN there. */
export function readingsOfKnownHours(
  readings: Pick<Samples, 'times' | 'mean'>,
  known: Pick<Samples, 'times' | 'mean'>,
): Pick<Samples, 'times' | 'mean'> {
  const start = known.times[0] ?? 0;
  const counts = (time: number): boolean => {
    const value = known.mean[Math.floor((time - start) / HOUR_MS)];
    return value !== undefined && !Number.isNaN(value);
  };
  return {
    times: readings.times.filter(counts),
    mean: readings.mean.filter((_, k) => counts(readings.times[k]!)),
  };
}
