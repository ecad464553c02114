import type { ForecastSettings } from './settings.ts';

/** Local calendar of a run of UTC hours, an entry an hour. */
export interface Calendar {
  /** local day, counted from 1970 */
  readonly day: Int32Array;
  readonly hour: Uint8Array;
}

/** 1 January 1970 was a Thursday. */
const isWeekend = (day: number): boolean => (day + 4) % 7 === 0 || (day + 4) % 7 === 6;

const DAY_HOURS = 24;
/** Weights beyond so many fading times are not worth looking up. */
const FADED = 4;

/**
 * What an hour was usually like before: the mean of the same local hour on earlier days, newer days weighing more
 * (exponential smoothing, Brown 1956), days of the other kind (weekday, weekend) less. Every entry uses only entries at
 * least a day older, so that the entry of a coming hour can be had from what is past.
 *
 * @param values NaN: not known
 * @param known entries from here on count as not known
 */
export function habitOf(
  values: Float64Array,
  known: number,
  calendar: Calendar,
  settings: ForecastSettings,
): Float64Array {
  const { day, hour } = calendar;
  const out = new Float64Array(day.length).fill(Number.NaN);
  const reach = Math.ceil(FADED * settings.habitDays);
  for (let i = 0; i < day.length; i++) {
    let sum = 0;
    let weights = 0;
    const weekend = isWeekend(day[i]!);
    for (let k = 1; k <= reach; k++) {
      let at = i - k * DAY_HOURS;
      if (at < 0) break;
      // where clocks changed in between, the same local hour is an entry away
      if (hour[at] !== hour[i]) at += hour[at]! === (hour[i]! + 1) % DAY_HOURS ? -1 : 1;
      const value = at >= known ? Number.NaN : values[at]!;
      if (!(at >= 0) || Number.isNaN(value)) continue;
      const weight =
        Math.exp(-k / settings.habitDays) * (isWeekend(day[at]!) === weekend ? 1 : settings.otherDayWeight);
      sum += weight * value;
      weights += weight;
    }
    if (weights > 0) out[i] = sum / weights;
  }
  return out;
}
