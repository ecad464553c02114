import type { AssessmentSettings } from './assessment.ts';
import { spreadOf } from './estimate.ts';
import type { FactorResult } from './temperature-factor.ts';

/** Number of standard deviations that go with a one-sided chance. Quantile of the normal by Abramowitz & Stegun 26.2.23. */
export function deviationsFor(chance: number): number {
  const t = Math.sqrt(-2 * Math.log(Math.min(0.5, Math.max(1e-12, chance))));
  return (
    t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (1 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t * t * t)
  );
}

/** A change that is neither chance nor too small to matter. */
export function changeShown(value: number, draws: Float64Array, settings: AssessmentSettings): 'up' | 'down' | 'none' {
  const margin = deviationsFor(settings.falseAlarm) * spreadOf(draws);
  if (value >= settings.smallestChange && value - margin > 0) return 'up';
  if (value <= -settings.smallestChange && value + margin < 0) return 'down';
  return 'none';
}

/** f of one surface in both phases. */
export interface FactorPair {
  readonly before: FactorResult;
  readonly after: FactorResult;
}

/** After less before in each draw: offsets that both phases share cancel. */
export const changeDraws = ({ before, after }: FactorPair): Float64Array =>
  after.draws.map((value, r) => value - before.draws[r]!);

export const changeOf = ({ before, after }: FactorPair): number => after.estimate.value - before.estimate.value;
