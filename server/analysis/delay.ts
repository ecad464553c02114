/** How a surface follows the air on one side: one or two equal first-order lags in a row. */
export interface Delay {
  /** sum of the time constants, h */
  readonly hours: number;
  readonly stages: 1 | 2;
}

/** Hours after a break, in lags, from which a delayed value is trusted again. */
const SETTLED_LAGS = 2;
/** Sum of a series' first hours that stands for its unknown past, h. */
const PAST_HOURS = 24;

/**
 * A series as a slow element feels it: an exponential average of its past with a gain of one at rest. NaN where the
 * series is. After a break the past is taken to have been like the day that follows; `settled` gives NaN until that
 * guess no longer matters.
 *
 * @param values hourly values, NaN for missing
 */
export function delayed(values: Float64Array, delay: Delay, after: 'settled' | 'at once'): Float64Array {
  if (delay.hours === 0) return values;
  const lag = delay.hours / delay.stages;
  const settle = after === 'settled' ? Math.ceil(SETTLED_LAGS * lag) : 0;
  let out = values;
  for (let stage = 0; stage < delay.stages; stage++) out = average(out, lag, settle);
  return out;
}

function average(values: Float64Array, lag: number, settle: number): Float64Array {
  const out = new Float64Array(values.length).fill(Number.NaN);
  const keep = Math.exp(-1 / lag);
  let state = Number.NaN;
  let since = 0;
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (Number.isNaN(value)) {
      state = Number.NaN;
      continue;
    }
    if (Number.isNaN(state)) {
      state = meanOfNext(values, i);
      since = 0;
    }
    state = value + keep * (state - value);
    since += 1;
    if (since > settle) out[i] = state;
  }
  return out;
}

function meanOfNext(values: Float64Array, from: number): number {
  let sum = 0;
  let count = 0;
  for (let i = from; i < Math.min(values.length, from + PAST_HOURS) && !Number.isNaN(values[i]!); i++) {
    sum += values[i]!;
    count += 1;
  }
  return sum / count;
}
