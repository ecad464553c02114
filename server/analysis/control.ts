import type { AssessmentSettings, Control } from './assessment.ts';
import { changeDraws, changeOf, changeShown, type FactorPair } from './change.ts';
import { estimateOf } from './estimate.ts';

/**
 * Difference in differences of f. The control surface must not have changed as the treated one did; where it did, the
 * works are not what changed it.
 */
export function controlOf(
  place: string,
  treated: FactorPair,
  control: FactorPair,
  settings: AssessmentSettings,
): Exclude<Control, { kind: 'missing' | 'too-thin' }> {
  const treatedDraws = changeDraws(treated);
  const controlDraws = changeDraws(control);
  const both = treatedDraws.map((value, r) => value - controlDraws[r]!);
  const difference = changeOf(treated) - changeOf(control);
  const alone = changeShown(changeOf(treated), treatedDraws, settings);
  const against = changeShown(difference, both, settings);
  const moved = changeShown(changeOf(control), controlDraws, settings);
  const kind = moved === 'none' || alone === against ? 'agrees' : 'disagrees';
  const said = (value: number): string => `${value < 0 ? '-' : '+'}${Math.abs(value).toFixed(2)}`;
  const statement =
    kind === 'agrees'
      ? `${place}, which was not treated, ${moved === 'none' ? 'did not change' : `changed by ${said(changeOf(control))}`}; against it the treated surface changed by ${said(difference)}.`
      : `${place}, which was not treated, changed by ${said(changeOf(control))}; against it the treated surface changed by only ${said(difference)}, so something other than the works may be at work.`;
  return {
    kind,
    place,
    still: moved === 'none',
    treatedChange: estimateOf(changeOf(treated), treatedDraws),
    controlChange: estimateOf(changeOf(control), controlDraws),
    differenceInDifferences: estimateOf(difference, both),
    controlBefore: control.before.estimate,
    controlAfter: control.after.estimate,
    workingBefore: control.before.working,
    workingAfter: control.after.working,
    statement,
  };
}
