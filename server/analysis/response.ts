import type { AssessmentSettings, ResponseFit } from './assessment.ts';
import { type NightSums, resampleNights } from './blocks.ts';
import { delayed } from './delay.ts';
import { goodnessOfFit } from './goodness-of-fit.ts';
import type { PhaseHours } from './phase-hours.ts';
import { randomStream } from './random.ts';
import { type FactorOffsets, factorHours, type Lags, nightSums } from './temperature-factor.ts';
import { HOUR_MS } from './vocabulary.ts';

/** @source ASHRAE Guideline 14-2014, limits for hourly models */
const NMBE_LIMIT = 10;
const CV_RMSE_LIMIT = 30;
/** f, intercept and the two lags */
const MODEL_PARAMETERS = 4;

const DAY_HOURS = 24;
/** A day's residuals can stand for another day only when nearly all of them are known. */
const FEWEST_HOURS = 20;

/**
 * How the untreated surface answers to the air on both sides:
 * surface = cold + intercept + f (room - cold) + residual, room and cold delayed.
 */
export interface Response {
  readonly fit: ResponseFit;
  readonly lags: Lags;
  /** f and intercept of each draw, nights resampled */
  readonly f: Float64Array;
  readonly intercept: Float64Array;
  /** residuals of whole UTC days, 24 entries each, K */
  readonly residuals: Float64Array;
  /** mean and swing of the cold side on those days, °C and K: a wide swing goes with sun and a clear sky */
  readonly dayMean: Float64Array;
  readonly daySwing: Float64Array;
  /** lowest and highest room - cold difference that was fitted, K */
  readonly differenceRange: readonly [number, number];
}

/** The hour of day in UTC, and the number of the UTC day, of an entry. */
export const utcHour = (phase: PhaseHours, i: number): number => (phase.start / HOUR_MS + i) % DAY_HOURS;

/**
 * Fits the response on the before phase, or gives null where there is too little.
 *
 * f and the intercept come from settled night hours, each night of equal weight, so that the sun does not bend them. The
 * intercept stands for sensor offsets and is held towards 0 as strongly as these are known to be small. What sun, sky and
 * chance do on top is kept as whole days of residuals.
 */
export function fitResponse(
  phase: PhaseHours,
  lags: Lags,
  offsets: FactorOffsets,
  settings: AssessmentSettings,
  seed: number,
  name: string,
): Response | null {
  const used = factorHours(phase, settings.usefulDifferenceK);
  const sums = nightSums(phase, lags, used);
  if (sums.filled < 3) return null;
  const perNight = equalNights(sums);
  const total = perNight.columns.map((column) => column.reduce((sum, value) => sum + value, 0));
  const first = solve(total, 0);
  if (first === null) return null;
  const offsetVariance = interceptVariance(first.f, offsets);
  const hold = nightVariance(perNight, first) / Math.max(1e-6, offsetVariance);
  const best = solve(total, hold);
  if (best === null) return null;

  const resampled = resampleNights(perNight, settings.blockDays, settings.resamples, randomStream(seed, `fit ${name}`));
  const f = new Float64Array(settings.resamples);
  const intercept = new Float64Array(settings.resamples);
  for (let r = 0; r < settings.resamples; r++) {
    const sample = solve(
      resampled.columns.map((column) => column[r]!),
      hold,
    );
    f[r] = sample === null ? best.f : best.f + resampled.widening * (sample.f - best.f);
    intercept[r] =
      sample === null ? best.intercept : best.intercept + resampled.widening * (sample.intercept - best.intercept);
  }
  const { residual, fitted } = residualsOf(phase, lags, best);
  const days = wholeDays(phase, residual);
  if (days.mean.length === 0) return null;
  return {
    fit: {
      f: best.f,
      interceptK: best.intercept,
      coldLagHours: lags.cold.hours,
      roomLagHours: lags.room.hours,
      ...goodness(phase, residual),
    },
    lags,
    f,
    intercept,
    residuals: days.residuals,
    dayMean: days.mean,
    daySwing: days.swing,
    differenceRange: rangeOf(fitted),
  };
}

type Goodness = Omit<ResponseFit, 'f' | 'interceptK' | 'coldLagHours' | 'roomLagHours'>;

interface Line {
  readonly f: number;
  /** K */
  readonly intercept: number;
}

/** Each night's sums divided by its hours. */
function equalNights(sums: NightSums): NightSums {
  const hours = sums.columns[0]!;
  const columns = sums.columns.map((column) => column.map((value, k) => (hours[k]! > 0 ? value / hours[k]! : 0)));
  return { ...sums, columns };
}

/** Least squares of y on x with the intercept held towards 0 as by `hold` further observations of 0. */
function solve(sums: readonly number[], hold: number): Line | null {
  const [n, x, y, xx, xy] = sums as [number, number, number, number, number];
  const weight = n + hold;
  const spread = weight * xx - x * x;
  if (!(weight > 0) || !(spread > 1e-9 * xx)) return null;
  const f = (weight * xy - x * y) / spread;
  const intercept = (y - f * x) / weight;
  return { f, intercept };
}

function interceptVariance(f: number, { surface, room, cold }: FactorOffsets): number {
  let sum = 0;
  const n = surface.temperature.length;
  for (let r = 0; r < n; r++) {
    const own = surface.temperature[r]! - f * room.temperature[r]! - (1 - f) * cold.temperature[r]!;
    sum += own * own;
  }
  return n === 0 ? 0 : sum / n;
}

/** Variance of a night's mean residual, K2, never taken below that of a tenth of a kelvin. */
function nightVariance({ nights, columns }: NightSums, line: Line): number {
  const [n, x, y] = columns as [Float64Array, Float64Array, Float64Array];
  let sum = 0;
  let count = 0;
  for (let k = 0; k < nights; k++) {
    if (n[k] === 0) continue;
    const own = y[k]! - line.intercept - line.f * x[k]!;
    sum += own * own;
    count += 1;
  }
  return Math.max(0.01, sum / Math.max(1, count - 2));
}

function residualsOf(phase: PhaseHours, lags: Lags, line: Line): { residual: Float64Array; fitted: Float64Array } {
  const room = delayed(phase.room, lags.room, 'settled');
  const cold = delayed(phase.cold, lags.cold, 'settled');
  const residual = new Float64Array(phase.length).fill(Number.NaN);
  const fitted = new Float64Array(phase.length).fill(Number.NaN);
  for (let i = phase.lead; i < phase.length; i++) {
    if (phase.valid[i] === 0) continue;
    const x = room[i]! - cold[i]!;
    residual[i] = phase.surface[i]! - cold[i]! - line.intercept - line.f * x;
    fitted[i] = x;
  }
  return { residual, fitted };
}

/** The residuals of well-known days, gaps filled with the mean of that hour over all days. */
function wholeDays(
  phase: PhaseHours,
  residual: Float64Array,
): { residuals: Float64Array; mean: Float64Array; swing: Float64Array } {
  const hourSum = new Float64Array(DAY_HOURS);
  const hourCount = new Float64Array(DAY_HOURS);
  for (let i = phase.lead; i < phase.length; i++) {
    if (Number.isNaN(residual[i]!)) continue;
    hourSum[utcHour(phase, i)]! += residual[i]!;
    hourCount[utcHour(phase, i)]! += 1;
  }
  const days: { mean: number; swing: number; values: Float64Array }[] = [];
  const firstMidnight = phase.lead + ((DAY_HOURS - utcHour(phase, phase.lead)) % DAY_HOURS);
  for (let at = firstMidnight; at + DAY_HOURS <= phase.length; at += DAY_HOURS) {
    const values = new Float64Array(DAY_HOURS);
    let known = 0;
    for (let h = 0; h < DAY_HOURS; h++) {
      const value = residual[at + h]!;
      if (Number.isNaN(value)) {
        values[h] = hourCount[h] === 0 ? 0 : hourSum[h]! / hourCount[h]!;
        continue;
      }
      values[h] = value;
      known += 1;
    }
    if (known >= FEWEST_HOURS) days.push({ ...meanAndSwing(phase.cold, at, at + DAY_HOURS), values });
  }
  const residuals = new Float64Array(days.length * DAY_HOURS);
  days.forEach((day, k) => {
    residuals.set(day.values, k * DAY_HOURS);
  });
  return {
    residuals,
    mean: Float64Array.from(days, (day) => day.mean),
    swing: Float64Array.from(days, (day) => day.swing),
  };
}

/** Mean of the known values of a stretch, and the largest less the smallest; NaN where none is known. */
export function meanAndSwing(values: Float64Array, from: number, to: number): { mean: number; swing: number } {
  let n = 0;
  let sum = 0;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = Math.max(0, from); i < Math.min(to, values.length); i++) {
    const value = values[i]!;
    if (Number.isNaN(value)) continue;
    n += 1;
    sum += value;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return { mean: n === 0 ? Number.NaN : sum / n, swing: n === 0 ? Number.NaN : high - low };
}

/**
 * Errors of the model over all hours as shares of the drop from room to surface. The mean course of the residual over the
 * day belongs to the model; that of odd days is taken from even ones and the reverse, so that no day judges itself.
 */
function goodness(phase: PhaseHours, residual: Float64Array): Goodness {
  const course = [new Float64Array(DAY_HOURS), new Float64Array(DAY_HOURS)] as const;
  const count = [new Float64Array(DAY_HOURS), new Float64Array(DAY_HOURS)] as const;
  const parity = (i: number): 0 | 1 => (Math.floor((phase.start / HOUR_MS + i) / DAY_HOURS) % 2 === 0 ? 0 : 1);
  for (let i = phase.lead; i < phase.length; i++) {
    if (Number.isNaN(residual[i]!)) continue;
    course[parity(i)][utcHour(phase, i)]! += residual[i]!;
    count[parity(i)][utcHour(phase, i)]! += 1;
  }
  const errors: number[] = [];
  const drops: number[] = [];
  for (let i = phase.lead; i < phase.length; i++) {
    if (Number.isNaN(residual[i]!)) continue;
    const other = parity(i) === 0 ? 1 : 0;
    const hour = utcHour(phase, i);
    errors.push(residual[i]! - (count[other][hour] === 0 ? 0 : course[other][hour]! / count[other][hour]!));
    drops.push(phase.room[i]! - phase.surface[i]!);
  }
  const { nmbePct, cvRmsePct, rmse } = goodnessOfFit(errors, drops, MODEL_PARAMETERS);
  return {
    residualK: rmse,
    hours: errors.length,
    nmbePct,
    cvRmsePct,
    nmbeLimitPct: NMBE_LIMIT,
    cvRmseLimitPct: CV_RMSE_LIMIT,
  };
}

function rangeOf(values: Float64Array): readonly [number, number] {
  const known = values.filter((value) => !Number.isNaN(value)).sort();
  if (known.length === 0) return [0, 0];
  return [known[Math.floor(0.02 * known.length)]!, known[Math.ceil(0.98 * (known.length - 1))]!];
}
