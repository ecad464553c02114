import type { AssessmentSettings, Convergence, Estimate, FactorWorking } from './assessment.ts';
import { type NightSums, resampleNights } from './blocks.ts';
import { type Delay, delayed } from './delay.ts';
import { estimateOf, spreadOf } from './estimate.ts';
import type { PhaseHours } from './phase-hours.ts';
import { randomStream } from './random.ts';
import type { OffsetDraws } from './sensor-draws.ts';

/** Time constants that are tried, h: a bare board follows within the hour, a heavy roof over half a day. */
const COLD_LAGS = [0, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 16];
const ROOM_LAGS = [0, 0.25, 0.5, 0.75, 1, 1.5, 2, 3, 4, 6, 8, 10, 12, 16];

/** With how much delay a surface follows the air on both sides. */
export interface Lags {
  readonly cold: Delay;
  readonly room: Delay;
}

/** Draws of offsets of the three sensors that f rests on. */
export interface FactorOffsets {
  readonly surface: OffsetDraws;
  readonly room: OffsetDraws;
  readonly cold: OffsetDraws;
}

export interface FactorResult {
  readonly estimate: Estimate;
  /** f in each draw: resampled nights, sensor offsets */
  readonly draws: Float64Array;
  readonly lags: Lags;
  readonly working: FactorWorking;
  readonly convergence: Convergence;
  /** f of each night with data, in order, and the nights' numbers */
  readonly nightly: { readonly night: Int32Array; readonly f: Float64Array };
}

/** Least-squares sums of y = surface - cold on x = room - cold. */
interface Moments {
  readonly n: number;
  readonly x: number;
  readonly y: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
}

function momentsOf(phase: PhaseHours, room: Float64Array, cold: Float64Array, used: Uint8Array): Moments {
  let n = 0;
  let sx = 0;
  let sy = 0;
  let sxx = 0;
  let sxy = 0;
  let syy = 0;
  for (let i = phase.lead; i < phase.length; i++) {
    if (used[i] === 0) continue;
    const x = room[i]! - cold[i]!;
    const y = phase.surface[i]! - cold[i]!;
    if (!(x * y <= Number.MAX_VALUE)) continue;
    n += 1;
    sx += x;
    sy += y;
    sxx += x * x;
    sxy += x * y;
    syy += y * y;
  }
  return { n, x: sx, y: sy, xx: sxx, xy: sxy, yy: syy };
}

/** Mean square residual of the line with intercept. */
function lackOfFit({ n, x, y, xx, xy, yy }: Moments): number {
  if (n < 3) return Number.POSITIVE_INFINITY;
  const sxx = xx - (x * x) / n;
  const sxy = xy - (x * y) / n;
  const syy = yy - (y * y) / n;
  return Math.max(0, sxx > 0 ? syy - (sxy * sxy) / sxx : syy) / n;
}

/** Finds the delays with which the night's surface temperatures follow best, trying each side in turn. */
export function fitLags(phase: PhaseHours, used: Uint8Array): Lags {
  const coldTries = COLD_LAGS.flatMap((hours): Delay[] =>
    hours === 0
      ? [{ hours, stages: 1 }]
      : [
          { hours, stages: 1 },
          { hours, stages: 2 },
        ],
  );
  const roomTries = ROOM_LAGS.map((hours): Delay => ({ hours, stages: 1 }));
  const colds = coldTries.map((delay) => delayed(phase.cold, delay, 'settled'));
  const rooms = roomTries.map((delay) => delayed(phase.room, delay, 'settled'));
  let coldAt = 0;
  let roomAt = 2;
  for (let turn = 0; turn < 3; turn++) {
    const bestCold = bestOf(colds.map((cold) => lackOfFit(momentsOf(phase, rooms[roomAt]!, cold, used))));
    const bestRoom = bestOf(rooms.map((room) => lackOfFit(momentsOf(phase, room, colds[bestCold]!, used))));
    if (bestCold === coldAt && bestRoom === roomAt) break;
    coldAt = bestCold;
    roomAt = bestRoom;
  }
  return { cold: coldTries[coldAt]!, room: roomTries[roomAt]! };
}

const bestOf = (values: readonly number[]): number => {
  let best = 0;
  for (let k = 1; k < values.length; k++) if (values[k]! < values[best]!) best = k;
  return best;
};

/** Hours for f: settled hours of the night, surface and both airs known, in nights with a useful temperature difference. */
export function factorHours(phase: PhaseHours, usefulDifference: number): Uint8Array {
  const used = new Uint8Array(phase.length);
  const sum = new Float64Array(phase.nights);
  const count = new Float64Array(phase.nights);
  for (let i = phase.lead; i < phase.length; i++) {
    const night = phase.night[i]!;
    if (night < 0 || phase.settled[i] === 0 || phase.valid[i] === 0) continue;
    used[i] = 1;
    sum[night]! += phase.room[i]! - phase.cold[i]!;
    count[night]! += 1;
  }
  const useful = sum.map((total, k) => (count[k]! > 0 && total / count[k]! >= usefulDifference / 2 ? 1 : 0));
  if (useful.reduce((total, one) => total + one, 0) === 0) return used;
  for (let i = phase.lead; i < phase.length; i++) if (used[i] === 1 && useful[phase.night[i]!] === 0) used[i] = 0;
  return used;
}

/** Sums over each night: hours, x, y, xx, xy, with x = room - cold and y = surface - cold, both delayed. */
export function nightSums(phase: PhaseHours, lags: Lags, used: Uint8Array): NightSums {
  const room = delayed(phase.room, lags.room, 'settled');
  const cold = delayed(phase.cold, lags.cold, 'settled');
  const columns = Array.from({ length: 6 }, () => new Float64Array(phase.nights));
  const [n, sx, sy, sxx, sxy, syy] = columns as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  for (let i = phase.lead; i < phase.length; i++) {
    if (used[i] === 0) continue;
    const x = room[i]! - cold[i]!;
    const y = phase.surface[i]! - cold[i]!;
    if (!(x * y <= Number.MAX_VALUE)) continue;
    const night = phase.night[i]!;
    n[night]! += 1;
    sx[night]! += x;
    sy[night]! += y;
    sxx[night]! += x * x;
    sxy[night]! += x * y;
    syy[night]! += y * y;
  }
  let filled = 0;
  for (const hours of n) if (hours > 0) filled += 1;
  return { nights: phase.nights, columns, filled };
}

/**
 * The temperature factor of a surface over a phase with its uncertainty, or null where no night has all three
 * temperatures.
 *
 * Definition: ISO 13788:2012, 3.1.2. The figure is a ratio of sums, not a mean of ratios, over night hours, when the sun
 * is off the roof. Room and cold side are taken as the element feels them, delayed by lags fitted to the same hours: a
 * delay has no effect at rest, so the definition is kept. Spread: whole nights resampled in blocks; the offsets of the
 * three sensors are drawn and carried through the ratio exactly.
 *
 * @param name of the stream of resamples; the same name resamples the same calendar nights
 */
export function temperatureFactor(
  phase: PhaseHours,
  offsets: FactorOffsets,
  settings: AssessmentSettings,
  seed: number,
  name: string,
): FactorResult | null {
  const used = factorHours(phase, settings.usefulDifferenceK);
  const lags = fitLags(phase, used);
  const sums = nightSums(phase, lags, used);
  const total = sums.columns.map(sumOf);
  const [n, x, y] = total as [number, number, number];
  if (!(n >= 3) || !(Math.abs(x) > 1e-9)) return null;
  const ratio = y / x;
  const difference = x / n;
  const resampled = resampleNights(sums, settings.blockDays, settings.resamples, randomStream(seed, `nights ${name}`));
  const chance = new Float64Array(settings.resamples);
  const slopes = new Float64Array(settings.resamples);
  const slope = slopeOf(total);
  for (let r = 0; r < settings.resamples; r++) {
    const sample = resampled.columns.map((column) => column[r]!);
    const own = sample[1]! === 0 ? ratio : sample[2]! / sample[1]!;
    chance[r] = ratio + resampled.widening * (own - ratio);
    const ownSlope = slopeOf(sample);
    slopes[r] = slope === null || ownSlope === null ? Number.NaN : slope + resampled.widening * (ownSlope - slope);
  }
  const method = randomStream(seed, `method ${name}`);
  const methodUncertainty = methodUncertaintyK(lags, ratio, settings) / Math.abs(difference);
  const draws = new Float64Array(settings.resamples);
  const systematic = new Float64Array(settings.resamples);
  for (let r = 0; r < settings.resamples; r++) {
    const own = methodUncertainty * method.normal();
    draws[r] = withoutOffsets(chance[r]!, difference, offsets, r) + own;
    systematic[r] = withoutOffsets(ratio, difference, offsets, r) + own;
  }
  const estimate = estimateOf(ratio, draws);
  return {
    estimate,
    draws,
    lags,
    working: {
      ratio: estimate,
      slope: slope === null ? null : estimateOf(slope, slopes),
      disagreement:
        slope === null
          ? null
          : estimateOf(
              slope - ratio,
              slopes.map((value, r) => value - draws[r]!),
            ),
      randomUncertainty: spreadOf(chance),
      systematicUncertainty: spreadOf(systematic),
      coldLagHours: lags.cold.hours,
      roomLagHours: lags.room.hours,
      hours: n,
      nights: sums.filled,
      meanDifferenceK: difference,
      meanSurfaceDifferenceK: y / n,
    },
    convergence: convergenceOf(sums, settings.convergenceShare),
    nightly: nightlyOf(sums),
  };
}

/** Lag of the cold side up to which the day's heat is gone when the settled hours of the night begin, h. */
const HARMLESS_LAG = 2;

/** Standard uncertainty of the method, K: heat of the sun that a slow element still holds comes from the cold side. */
function methodUncertaintyK(lags: Lags, ratio: number, settings: AssessmentSettings): number {
  const coldShare = Math.min(1, Math.max(0, 1 - ratio));
  return settings.methodUncertaintyK + coldShare * settings.storedHeatK * Math.max(0, lags.cold.hours - HARMLESS_LAG);
}

/** What the ratio would be had the sensors not the offsets of draw `r`. */
function withoutOffsets(ratio: number, difference: number, { surface, room, cold }: FactorOffsets, r: number): number {
  const coldOffset = cold.temperature[r]!;
  const top = ratio * difference - surface.temperature[r]! + coldOffset;
  const bottom = difference - room.temperature[r]! + coldOffset;
  return Math.abs(bottom) < 1e-6 ? ratio : top / bottom;
}

const sumOf = (column: Float64Array): number => {
  let sum = 0;
  for (const value of column) sum += value;
  return sum;
};

function slopeOf(sums: readonly number[]): number | null {
  const [n, x, y, xx, xy] = sums as [number, number, number, number, number];
  const spread = xx - (x * x) / n;
  return n >= 3 && spread / n > 1e-6 ? (xy - (x * y) / n) / spread : null;
}

/** @source ISO 9869-1:2014, 7.1, criteria 1 to 3, there for thermal resistance, here for f */
function convergenceOf(sums: NightSums, share: number): Convergence {
  const [, x, y] = sums.columns as [Float64Array, Float64Array, Float64Array];
  const filled: number[] = [];
  for (let k = 0; k < sums.nights; k++) if (sums.columns[0]![k]! > 0) filled.push(k);
  const over = (nights: readonly number[]): number => {
    let top = 0;
    let bottom = 0;
    for (const k of nights) {
      top += y[k]!;
      bottom += x[k]!;
    }
    return top / bottom;
  };
  const days = filled.length;
  if (days < 3) return { days, againstDayEarlier: null, firstAgainstLast: null, converged: false };
  const all = over(filled);
  const part = Math.floor((2 * days) / 3);
  const againstDayEarlier = over(filled.slice(0, -1)) / all - 1;
  const firstAgainstLast = over(filled.slice(0, part)) / over(filled.slice(-part)) - 1;
  return {
    days,
    againstDayEarlier,
    firstAgainstLast,
    converged: Math.abs(againstDayEarlier) <= share && Math.abs(firstAgainstLast) <= share,
  };
}

function nightlyOf(sums: NightSums): FactorResult['nightly'] {
  const night: number[] = [];
  const f: number[] = [];
  for (let k = 0; k < sums.nights; k++) {
    if (sums.columns[0]![k]! < 3 || !(sums.columns[1]![k]! > 0)) continue;
    night.push(k);
    f.push(sums.columns[2]![k]! / sums.columns[1]![k]!);
  }
  return { night: Int32Array.from(night), f: Float64Array.from(f) };
}
