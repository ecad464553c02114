import type { Estimate } from './assessment.ts';

/** Quantile of sorted values by linear interpolation; `values` ascend. */
export function quantileOf(values: Float64Array, share: number): number {
  const at = share * (values.length - 1);
  const below = Math.floor(at);
  const above = Math.min(values.length - 1, below + 1);
  return values[below]! + (at - below) * (values[above]! - values[below]!);
}

/** A figure with the central 95 % of its draws; NaN draws are left out. The interval is stretched to hold the figure. */
export function estimateOf(value: number, draws: Float64Array): Estimate {
  const sorted = draws.filter((draw) => !Number.isNaN(draw)).sort();
  if (sorted.length === 0) return { value, low: value, high: value };
  return {
    value,
    low: Math.min(value, quantileOf(sorted, 0.025)),
    high: Math.max(value, quantileOf(sorted, 0.975)),
  };
}

/** Standard deviation; 0 of fewer than two. */
export function spreadOf(values: Float64Array): number {
  let n = 0;
  let mean = 0;
  let squares = 0;
  for (const value of values) {
    if (Number.isNaN(value)) continue;
    n += 1;
    const step = value - mean;
    mean += step / n;
    squares += step * (value - mean);
  }
  return n < 2 ? 0 : Math.sqrt(squares / (n - 1));
}
