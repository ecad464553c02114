import { type ShareRange, shareRange } from '../share-range.ts';
import { forecastSettings } from './settings.ts';

/** A forecast of one night and what came of it. */
export interface Scored {
  /** 0 to 1 */
  readonly chance: number;
  /** it was a condensation night */
  readonly wet: boolean;
  /** the night before was; null: not known */
  readonly wetBefore: boolean | null;
}

export interface ReliabilityBin {
  readonly from: number;
  readonly to: number;
  readonly nights: number;
  readonly meanChance: number | null;
  readonly rate: number | null;
  /** 95 % interval of the rate */
  readonly rateRange: ShareRange | null;
}

/** Whether so many nights are enough to judge by. */
export const standings = ['enough', 'none', 'few-nights', 'few-condensation-nights'] as const;
export type Standing = (typeof standings)[number];

/** How good a row of forecasts was. null: cannot be said, there being nothing to divide by. */
export interface ForecastScore {
  readonly nights: number;
  readonly condensationNights: number;
  readonly standing: Standing;
  /** condensation nights that were warned of: warnings that came true */
  readonly hits: number;
  readonly brier: number | null;
  readonly skillAgainstLastNight: number | null;
  readonly skillAgainstSeason: number | null;
  readonly recall: number | null;
  readonly precision: number | null;
  /** 95 % intervals of both */
  readonly recallRange: ShareRange | null;
  readonly precisionRange: ShareRange | null;
  readonly warnings: number;
  readonly reliability: readonly ReliabilityBin[];
}

const BINS = 10;

const meanOf = (values: readonly number[]): number | null =>
  values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
const share = (part: number, whole: number): number | null => (whole === 0 ? null : part / whole);
const outcome = (wet: boolean): number => (wet ? 1 : 0);

/**
 * Brier score: mean of (chance - outcome)², outcome 1 or 0. 0 is best; always saying 0.5 gets 0.25.
 *
 * @source Brier (1950), Monthly Weather Review 78, 1-3, which sums over both outcomes and so gives twice this
 */
export const brierScore = (forecasts: readonly Pick<Scored, 'chance' | 'wet'>[]): number | null =>
  meanOf(forecasts.map(({ chance, wet }) => (chance - outcome(wet)) ** 2));

/**
 * Skill: 1 - score / score of a reference; 1 is perfect, 0 no better than the reference, below 0 worse.
 *
 * @source Murphy (1988), Monthly Weather Review 116, 2417-2424
 */
export const skill = (score: number | null, reference: number | null): number | null =>
  score === null || reference === null || reference === 0 ? null : 1 - score / reference;

/**
 * Scores forecasts. The season's rate is that of the scored nights themselves: a reference that knew the outcome of the
 * season beforehand. "Same as last night" says 1 or 0; it is judged over the nights whose night before is known.
 *
 * @param warningChance chance from which a warning is given
 */
export function scoreForecasts(
  forecasts: readonly Scored[],
  warningChance: number = forecastSettings.warningChance,
): ForecastScore {
  const rate = meanOf(forecasts.map(({ wet }) => outcome(wet)));
  const followed = forecasts.filter(({ wetBefore }) => wetBefore !== null);
  const condensation = forecasts.filter(({ wet }) => wet);
  const warned = forecasts.filter(({ chance }) => chance >= warningChance);
  const hits = warned.filter(({ wet }) => wet).length;
  return {
    nights: forecasts.length,
    condensationNights: condensation.length,
    standing: standingOf(forecasts.length, condensation.length),
    hits,
    brier: brierScore(forecasts),
    skillAgainstLastNight: skill(
      brierScore(followed),
      brierScore(followed.map(({ wet, wetBefore }) => ({ chance: outcome(wetBefore!), wet }))),
    ),
    skillAgainstSeason: rate === null ? null : skill(brierScore(forecasts), rate * (1 - rate)),
    recall: share(hits, condensation.length),
    precision: share(hits, warned.length),
    recallRange: shareRange(hits, condensation.length),
    precisionRange: shareRange(hits, warned.length),
    warnings: warned.length,
    reliability: reliabilityOf(forecasts),
  };
}

function standingOf(nights: number, condensationNights: number): Standing {
  const { fewestScored, fewestScoredWet } = forecastSettings;
  if (nights === 0) return 'none';
  if (nights < fewestScored) return 'few-nights';
  return condensationNights < fewestScoredWet ? 'few-condensation-nights' : 'enough';
}

/**
 * Reliability table: of the nights given a chance of so much, how many came true.
 *
 * @source Murphy & Winkler (1977), Applied Statistics 26, 41-47; Wilks, Statistical Methods in the Atmospheric Sciences
 */
function reliabilityOf(forecasts: readonly Scored[]): ReliabilityBin[] {
  return Array.from({ length: BINS }, (_, k) => {
    const inside = forecasts.filter(({ chance }) => Math.min(BINS - 1, Math.floor(chance * BINS + 1e-9)) === k);
    return {
      from: k / BINS,
      to: (k + 1) / BINS,
      nights: inside.length,
      meanChance: meanOf(inside.map(({ chance }) => chance)),
      rate: meanOf(inside.map(({ wet }) => outcome(wet))),
      rateRange: shareRange(inside.filter(({ wet }) => wet).length, inside.length),
    };
  });
}
