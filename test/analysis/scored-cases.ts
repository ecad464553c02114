import { assess } from '../../server/analysis/assess.ts';
import type { SensorErrors } from '../../server/simulate/ceiling-case.ts';
import { type CaseKind, drawCase, type House, inputOf, truthOf } from './ceiling-cases.ts';

export interface Score {
  readonly cases: number;
  /** share of the f intervals, before and after, that hold the truth */
  readonly coverage: number;
  readonly bias: number;
  readonly metOrBetter: number;
  readonly worse: number;
  readonly notEnough: number;
  readonly avoided: {
    readonly cases: number;
    /** of avoided / truth - 1 */
    readonly medianError: number;
    readonly medianSize: number;
    readonly coverage: number;
  };
}

/** Fewer true avoided hours than this make a share meaningless. */
const FEWEST_AVOIDED = 50;

const median = (values: readonly number[]): number =>
  values.length === 0 ? Number.NaN : [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;

/** Runs seeded cases and holds what the assessment says against what is true. */
export function runCases(
  houses: readonly House[],
  kind: CaseKind,
  errors: SensorErrors,
  firstSeed: number,
  cases: number,
): Score {
  let intervals = 0;
  let held = 0;
  let off = 0;
  const kinds = {
    'target-met': 0,
    'better-short-of-target': 0,
    'no-change-shown': 0,
    worse: 0,
    'not-enough-evidence': 0,
  };
  const relative: number[] = [];
  let avoidedHeld = 0;
  for (let seed = firstSeed; seed < firstSeed + cases; seed++) {
    const one = drawCase(houses, kind, errors, seed);
    const result = assess(inputOf(one, seed));
    kinds[result.verdict.kind] += 1;
    for (const [phase, truth] of [
      [result.before, one.truth.factorBefore],
      [result.after, one.truth.factorAfter],
    ] as const) {
      if (!phase?.f) continue;
      intervals += 1;
      if (phase.f.low <= truth && truth <= phase.f.high) held += 1;
      off += phase.f.value - truth;
    }
    const { avoided } = result.riskHours;
    const truth = truthOf(one).avoided;
    if (avoided === null || truth < FEWEST_AVOIDED) continue;
    relative.push(avoided.value / truth - 1);
    if (avoided.low <= truth && truth <= avoided.high) avoidedHeld += 1;
  }
  return {
    cases,
    coverage: held / intervals,
    bias: off / intervals,
    metOrBetter: (kinds['target-met'] + kinds['better-short-of-target']) / cases,
    worse: kinds.worse / cases,
    notEnough: kinds['not-enough-evidence'] / cases,
    avoided: {
      cases: relative.length,
      medianError: median(relative),
      medianSize: median(relative.map(Math.abs)),
      coverage: avoidedHeld / relative.length,
    },
  };
}
