import type { AssessmentSettings, Control, Target, VerdictKind } from './assessment.ts';
import { changeDraws, changeOf, changeShown, type FactorPair } from './change.ts';

/**
 * Verdict on one surface from its f in both phases. "Target met" needs both: a change shown, and the whole interval of f
 * after at or over the target. A change that the control surface went through as well is not put down to the works.
 */
export function surfaceVerdict(
  pair: FactorPair,
  control: Control,
  target: Target,
  settings: AssessmentSettings,
): Exclude<VerdictKind, 'not-enough-evidence'> {
  const shown = changeShown(changeOf(pair), changeDraws(pair), settings);
  if (shown === 'down') return control.kind === 'disagrees' ? 'no-change-shown' : 'worse';
  if (shown === 'none' || control.kind === 'disagrees') return 'no-change-shown';
  return pair.after.estimate.low >= target.f ? 'target-met' : 'better-short-of-target';
}
