import { humidityClassLimits } from '../physics/humidity-class.ts';
import { dewPoint } from '../physics/saturation.ts';
import type { AssessmentSettings, Causes, Estimate, Target } from './assessment.ts';
import { delayed } from './delay.ts';
import { estimateOf } from './estimate.ts';
import type { PhaseHours } from './phase-hours.ts';
import type { SensorDraws } from './sensor-draws.ts';
import type { FactorResult } from './temperature-factor.ts';

/** What "put right" means for each of the three; a game of three players has eight coalitions, numbered by bits. */
const FABRIC = 1;
const MOISTURE = 2;
const HEATING = 4;
const COALITIONS = 8;

/** Over how many hours the vapour excess is averaged before it is held to the class limit. */
const EXCESS_HOURS = 24;
/** Fewer risk hours than this cannot be shared out. */
const FEWEST_RISK_HOURS = 10;
/** The leader is named where it leads in at least this share of the draws. */
const LEADS_IN = 0.9;

export interface CauseOffsets {
  readonly surface: SensorDraws;
  readonly room: SensorDraws;
}

/**
 * Shares out the risk hours of the before phase between cold fabric, moist air and a cool room: what goes away if (a) the
 * surface met the target f, (b) the day's mean vapour excess stayed within the class limit, (c) the room were heated to a
 * stated minimum, its vapour pressure unchanged. The three overlap, so each gets the mean of what it adds over all orders
 * in which they could be put right.
 *
 * @returns null where there are too few risk hours to share out or no outdoor humidity
 * @source Shapley (1953), A value for n-person games, Annals of Mathematics Studies 28, 307-317
 */
export function causesOf(
  phase: PhaseHours,
  factor: FactorResult,
  offsets: CauseOffsets,
  target: Target,
  settings: AssessmentSettings,
): Causes | null {
  const hours = causeHours(phase, factor, settings);
  const resamples = settings.resamples;
  const { perHumidity, perTemperature } = phase.sensitivity;
  const asMeasured = coalitionHours(hours, factor.estimate.value, target.f, 0);
  if (asMeasured[0]! < FEWEST_RISK_HOURS || hours.n === 0) return null;
  const draws = Array.from({ length: 4 }, () => new Float64Array(resamples));
  const leads = new Int32Array(3);
  for (let r = 0; r < resamples; r++) {
    const room = offsets.room.before;
    const slack =
      offsets.surface.before.temperature[r]! -
      (perHumidity * room.humidity[r]! + perTemperature * room.temperature[r]!);
    const shares = sharesOf(coalitionHours(hours, factor.draws[r]!, target.f, slack));
    for (let k = 0; k < 4; k++) draws[k]![r] = shares === null ? Number.NaN : shares[k]!;
    if (shares !== null) leads[largestOf(shares)]! += 1;
  }
  const point = sharesOf(asMeasured)!;
  const names = ['fabric', 'moisture', 'heating'] as const;
  const best = largestOf(point);
  const counted = leads[0]! + leads[1]! + leads[2]!;
  const leader = point[best]! > 0 && leads[best]! >= LEADS_IN * counted ? names[best]! : null;
  const estimates = point.map((value, k) => estimateOf(value, draws[k]!)) as [Estimate, Estimate, Estimate, Estimate];
  return {
    fabric: estimates[0],
    moisture: estimates[1],
    heating: estimates[2],
    remaining: estimates[3],
    leader,
    riskHours: asMeasured[0]!,
    targetF: target.f,
    humidityClassLimit: settings.humidityClassLimit,
    heatedToC: settings.heatedToC,
    statement: statementOf(estimates, leader, settings),
  };
}

const words = { fabric: 'the cold fabric', moisture: 'moist air', heating: 'a cool room' } as const;

function statementOf(
  [fabric, moisture, heating, remaining]: readonly Estimate[],
  leader: 'fabric' | 'moisture' | 'heating' | null,
  settings: AssessmentSettings,
): string {
  const percent = (estimate: Estimate | undefined): string => `${Math.round(100 * (estimate?.value ?? 0))} %`;
  const first =
    leader === null
      ? 'The log does not single out one cause of the risk hours.'
      : `The log points to ${words[leader]} as the largest cause of the risk hours.`;
  return (
    `${first} Shares: fabric ${percent(fabric)}, vapour excess over class ${settings.humidityClassLimit} ` +
    `${percent(moisture)}, room under ${settings.heatedToC} °C ${percent(heating)}, none of the three ` +
    `${percent(remaining)}; this indicates and does not blame.`
  );
}

interface CauseHours {
  readonly n: number;
  readonly surface: Float64Array;
  /** room - cold, as the element feels it, K */
  readonly difference: Float64Array;
  /** rise of the room, as the element feels it, were it heated to the minimum, K */
  readonly rise: Float64Array;
  readonly riskAt: Float64Array;
  /** the same with the excess held to the limit */
  readonly riskAtDrier: Float64Array;
}

function causeHours(phase: PhaseHours, factor: FactorResult, settings: AssessmentSettings): CauseHours {
  const room = delayed(phase.room, factor.lags.room, 'at once');
  const cold = delayed(phase.cold, factor.lags.cold, 'at once');
  const rise = delayed(
    phase.room.map((temperature) => Math.max(0, settings.heatedToC - temperature)),
    factor.lags.room,
    'at once',
  );
  const scale = excessScale(phase, settings);
  const picked: number[] = [];
  for (let i = phase.lead; i < phase.length; i++) {
    if (phase.valid[i] === 1 && phase.riskAt[i]! + room[i]! + cold[i]! + scale[i]! < Number.MAX_VALUE) picked.push(i);
  }
  const pick = (of: (i: number) => number): Float64Array => Float64Array.from(picked, of);
  return {
    n: picked.length,
    surface: pick((i) => phase.surface[i]!),
    difference: pick((i) => room[i]! - cold[i]!),
    rise: pick((i) => rise[i]!),
    riskAt: pick((i) => phase.riskAt[i]!),
    riskAtDrier: pick((i) => {
      if (scale[i]! >= 1) return phase.riskAt[i]!;
      const outdoor = phase.coldPressure[i]!;
      const drier = outdoor + scale[i]! * (phase.roomPressure[i]! - outdoor);
      return Math.min(phase.riskAt[i]!, drier > 5 ? dewPoint((100 * drier) / settings.riskLimitPct) : -60);
    }),
  };
}

/** Factor by which each hour's vapour excess is cut so that the mean of its surrounding day keeps to the class limit. */
function excessScale(phase: PhaseHours, settings: AssessmentSettings): Float64Array {
  const half = EXCESS_HOURS / 2;
  const out = new Float64Array(phase.length).fill(Number.NaN);
  for (let i = phase.lead; i < phase.length; i++) {
    let n = 0;
    let excess = 0;
    let outdoor = 0;
    for (let k = Math.max(0, i - half); k < Math.min(phase.length, i + half); k++) {
      const own = phase.roomPressure[k]! - phase.coldPressure[k]!;
      if (Number.isNaN(own + phase.cold[k]!)) continue;
      n += 1;
      excess += own;
      outdoor += phase.cold[k]!;
    }
    if (n === 0) continue;
    const mean = excess / n;
    const limit = humidityClassLimits(Math.min(60, Math.max(-60, outdoor / n)))[settings.humidityClassLimit - 1]!;
    out[i] = mean > limit ? limit / mean : 1;
  }
  return out;
}

/** Risk hours left with each coalition put right, were the true surface `slack` colder than measured against its limit. */
function coalitionHours(hours: CauseHours, f: number, target: number, slack: number): Float64Array {
  const { n, surface, difference, rise, riskAt, riskAtDrier } = hours;
  const left = new Float64Array(COALITIONS);
  const better = Math.max(f, target);
  const gain = better - f;
  for (let i = 0; i < n; i++) {
    const own = surface[i]! - slack;
    const limit = riskAt[i]!;
    // nothing the three can do makes an hour worse, so an hour without risk is none in every coalition
    if (own > limit || surface[i]! <= 0) continue;
    const drier = riskAtDrier[i]!;
    const lined = own + gain * Math.max(0, difference[i]!);
    const heated = own + f * rise[i]!;
    const both = lined + better * rise[i]!;
    left[0]! += 1;
    if (lined <= limit) left[FABRIC]! += 1;
    if (heated <= limit) left[HEATING]! += 1;
    if (both <= limit) left[FABRIC | HEATING]! += 1;
    if (own <= drier) left[MOISTURE]! += 1;
    if (lined <= drier) left[FABRIC | MOISTURE]! += 1;
    if (heated <= drier) left[HEATING | MOISTURE]! += 1;
    if (both <= drier) left[FABRIC | HEATING | MOISTURE]! += 1;
  }
  return left;
}

/** Shapley shares of fabric, moisture, heating, and what none removes; null where there are no risk hours. */
function sharesOf(left: Float64Array): readonly [number, number, number, number] | null {
  const all = left[0]!;
  if (all === 0) return null;
  const gone = (coalition: number): number => 1 - left[coalition]! / all;
  const value = (own: number, one: number, other: number): number =>
    gone(own) / 3 +
    (gone(own | one) - gone(one) + gone(own | other) - gone(other)) / 6 +
    (gone(own | one | other) - gone(one | other)) / 3;
  return [
    value(FABRIC, MOISTURE, HEATING),
    value(MOISTURE, FABRIC, HEATING),
    value(HEATING, FABRIC, MOISTURE),
    left[COALITIONS - 1]! / all,
  ];
}

const largestOf = (shares: readonly number[]): 0 | 1 | 2 =>
  shares[0]! >= shares[1]! ? (shares[0]! >= shares[2]! ? 0 : 2) : shares[1]! >= shares[2]! ? 1 : 2;
