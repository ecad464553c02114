/**
 * What is known of a quantity over time: readings, or hours with their extremes. In time order; NaN: not known. Where
 * no extremes were kept, `low` and `high` are the mean.
 */
export interface Samples {
  /** UTC milliseconds */
  readonly times: Float64Array;
  readonly low: Float64Array;
  readonly mean: Float64Array;
  readonly high: Float64Array;
}

/** The same, gathered into buckets. A bucket without a known sample is a gap: NaN, count 0. */
export interface Envelope {
  readonly min: Float64Array;
  readonly mean: Float64Array;
  readonly max: Float64Array;
  /** samples known in the bucket */
  readonly count: Int32Array;
}

/**
 * Gathers samples into buckets, so that a drawing with fewer points than samples keeps every peak: the extremes of the
 * buckets are the extremes of the samples. The mean is of the known samples, each counted once.
 *
 * @param edges UTC milliseconds, ascending: bucket `i` holds what lies from `edges[i]` to before `edges[i + 1]`
 */
export function envelope(samples: Samples, edges: Float64Array): Envelope {
  const { times, low, mean, high } = samples;
  const buckets = Math.max(0, edges.length - 1);
  const out = {
    min: new Float64Array(buckets).fill(Number.NaN),
    mean: new Float64Array(buckets).fill(Number.NaN),
    max: new Float64Array(buckets).fill(Number.NaN),
    count: new Int32Array(buckets),
  };
  let k = 0;
  while (k < times.length && times[k]! < edges[0]!) k++;
  for (let i = 0; i < buckets; i++) {
    let sum = 0;
    let least = Number.POSITIVE_INFINITY;
    let most = Number.NEGATIVE_INFINITY;
    let count = 0;
    for (; k < times.length && times[k]! < edges[i + 1]!; k++) {
      const value = mean[k]!;
      if (Number.isNaN(value)) continue;
      sum += value;
      count += 1;
      // a reading that was kept as an extreme stays one, and a mean without extremes is its own
      least = Math.min(least, Number.isNaN(low[k]!) ? value : low[k]!);
      most = Math.max(most, Number.isNaN(high[k]!) ? value : high[k]!);
    }
    if (count === 0) continue;
    out.min[i] = least;
    out.mean[i] = sum / count;
    out.max[i] = most;
    out.count[i] = count;
  }
  return out;
}
