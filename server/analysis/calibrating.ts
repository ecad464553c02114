import type { Notice } from '../physics/notice.ts';
import type { CalibrationMethod, CalibrationPoint, CalibrationUncertainty } from './calibration.ts';
import { fixed } from './say.ts';

/** What the calibrating procedures go by; the words that guide people through them say the same. */
export const calibratingSettings = Object.freeze({
  /** a solution of salt needs this long after it was made, h. Handbook of a maker of calibrators, read in transcription */
  solutionHours: 24,
  /**
   * a sensor needs this long with the salt, h. The same handbook asks for 20 to 40 minutes; a cheap sensor in a housing
   * breathes slower (no source), so the readings must have come to rest as well
   */
  saltHours: 3,
  /** in ice water, h; no source: common practice */
  iceHours: 10 / 60,
  /** side by side, from putting them together until their readings count, h; no source: common practice */
  boxHours: 2,
  /** a side-by-side run lasts at least this long, the time of putting together included, h; no source: a short night */
  runHours: 8,
  /** side by side, readings are gathered over this long and their median taken, h */
  blockHours: 0.5,
  /** half width of what the temperature in a closed box may differ by from sensor to sensor, as 1 standard uncertainty, K;
   * no source: common practice */
  boxDifferenceK: 0.05,
  /** a sensor and the salt beside it may differ by this, 1 standard uncertainty, K; no source: a jar inside a box */
  saltDifferenceK: 0.15,
  /** stirred crushed ice and clean water stay within ± this of 0 °C, K; 0.01 to 0.05 can be reached (from memory) */
  iceLimitK: 0.05,
  /** humidity elements remember where they came from, ± %; SHT4x data sheet, read in transcription */
  hysteresisLimitPct: 0.8,
  /** further off than this a sensor is broken or is not where it is thought to be; no source: common practice */
  farthestK: 3,
  farthestPct: 15,
});

export type CalibratingSettings = typeof calibratingSettings;

/** Why there is no calibration to propose. */
export type ReasonCode =
  | 'too-few-sensors'
  | 'too-few-readings'
  | 'too-short'
  | 'settling'
  | 'unsteady'
  | 'no-agreement'
  | 'reference-missing'
  | 'solution-too-young'
  | 'temperature-missing'
  | 'temperature-out-of-range'
  | 'temperature-unsteady'
  | 'salts-too-close'
  | 'too-far-off';

/** One thing in the way of a calibration. */
export interface Reason {
  readonly code: ReasonCode;
  /** one plain sentence */
  readonly message: string;
  /** what to do, one plain sentence */
  readonly mend: string;
  /** h until it mends itself, where that can be said */
  readonly hoursLeft: number | null;
}

export const reason = (code: ReasonCode, message: string, mend: string, hoursLeft: number | null = null): Reason => ({
  code,
  message,
  mend,
  hoursLeft,
});

export type CalibratingNotice = Notice<
  'further-off-than-its-data-sheet' | 'one-humidity' | 'one-temperature' | 'beyond-the-salts' | 'table-from-memory'
>;

/** One source of doubt: a standard uncertainty (k = 1) in the unit of the series. */
export interface Doubt {
  readonly source: string;
  readonly uncertainty: number;
  /** the same for every sensor in the run */
  readonly shared: boolean;
}

/** A calibration that the readings bear out, to be saved or left. */
export interface Proposal extends CalibrationUncertainty {
  readonly seriesId: number;
  readonly method: CalibrationMethod;
  readonly points: readonly CalibrationPoint[];
  /** UTC milliseconds at which the readings ended */
  readonly madeAt: number;
  /** what the uncertainty is made of */
  readonly doubts: readonly Doubt[];
  /** how far the readings scatter about their correction, as a standard deviation in the unit of the series */
  readonly repeatability: number;
  readonly notices: readonly CalibratingNotice[];
}

/** What a procedure has come to for one series. */
export type Outcome =
  | { readonly kind: 'proposed'; readonly proposal: Proposal }
  | { readonly kind: 'not-yet'; readonly reasons: readonly Reason[] };

export const notYet = (...reasons: readonly Reason[]): Outcome => ({ kind: 'not-yet', reasons });

/** Readings of one series, in time order, as the sensor sent them. */
export interface Column {
  /** UTC milliseconds */
  readonly times: Float64Array;
  readonly values: Float64Array;
}

/** The doubts taken together, and what of them is shared. @source JCGM 100:2008 (GUM), 5.1.2 */
export function combined(doubts: readonly Doubt[], sharedSource: string): CalibrationUncertainty {
  const uncertainty = Math.hypot(...doubts.map((doubt) => doubt.uncertainty));
  const shared = doubts.filter((doubt) => doubt.shared);
  return shared.length === 0
    ? { uncertainty, sharedSource: null, sharedUncertainty: 0 }
    : { uncertainty, sharedSource, sharedUncertainty: Math.hypot(...shared.map((doubt) => doubt.uncertainty)) };
}

/**
 * Standard uncertainty from the steps in which a sensor reports: the smallest step between its values over √12.
 *
 * @source JCGM 100:2008 (GUM), F.2.2.1
 */
export function stepUncertainty(values: Float64Array): number {
  const sorted = Float64Array.from(new Set(values)).sort();
  let step = Number.POSITIVE_INFINITY;
  for (let k = 1; k < sorted.length; k++) {
    const difference = sorted[k]! - sorted[k - 1]!;
    // decimals such as 18.43 are not exact: a step smaller than a ten-thousandth is none
    if (difference > 1e-4) step = Math.min(step, difference);
  }
  return Number.isFinite(step) ? step / Math.sqrt(12) : 0;
}

/** Median; NaN of nothing. Reorders nothing. */
export function medianOf(values: ArrayLike<number>): number {
  if (values.length === 0) return Number.NaN;
  const sorted = Float64Array.from(values).sort();
  const middle = sorted.length >>> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/** Median absolute deviation of a normal distribution in standard deviations. */
const MAD_TO_SIGMA = 1.4826;

/** Spread about the median that single wild values do not move, as a standard deviation. @source Hampel (1974), JASA 69 */
export function robustSpread(values: ArrayLike<number>): number {
  const middle = medianOf(values);
  return MAD_TO_SIGMA * medianOf(Float64Array.from(values, (value) => Math.abs(value - middle)));
}

/** The part of a column with `from <= time < to`. */
export function within({ times, values }: Column, from: number, to: number): Column {
  const first = times.findIndex((time) => time >= from);
  if (first < 0) return { times: times.subarray(0, 0), values: values.subarray(0, 0) };
  const after = times.findIndex((time) => time >= to);
  const end = after < 0 ? times.length : after;
  return { times: times.subarray(first, end), values: values.subarray(first, Math.max(first, end)) };
}

/** Hours as people say them: `40 minutes`, `3 hours`. */
export function hoursInWords(hours: number): string {
  if (hours < 1) return `${fixed(Math.max(1, Math.ceil(hours * 60)), 0)} minutes`;
  const whole = Math.ceil(hours);
  return whole === 1 ? '1 hour' : `${whole} hours`;
}
