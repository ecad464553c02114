import type {
  AfterResult,
  BeforeResult,
  Control,
  Estimate,
  Finding,
  MovedTrouble,
  ReasonAbout,
  RiskHours,
  Target,
  Verdict,
  VerdictKind,
} from './assessment.ts';
import { fixed, plural, withInterval } from './say.ts';

export interface VerdictParts {
  readonly surface: string;
  /** null where nothing could be compared */
  readonly surfaceKind: VerdictKind | null;
  readonly before: BeforeResult | null;
  readonly after: AfterResult | null;
  readonly change: Estimate | null;
  readonly riskHours: RiskHours;
  readonly control: Control;
  readonly moved: readonly MovedTrouble[];
  readonly findings: readonly Finding[];
  readonly target: Target;
}

/**
 * Puts the verdict in words. Trouble that moved comes first: a cured surface with a wetter loft is not a success.
 */
export function verdictOf(parts: VerdictParts): Verdict {
  const blocking = parts.findings.filter((one) => one.severity === 'blocks');
  const worse = parts.moved.filter((one) => one.kind === 'worse');
  const surfaceKind: VerdictKind =
    blocking.length > 0 || parts.surfaceKind === null ? 'not-enough-evidence' : parts.surfaceKind;
  if (surfaceKind === 'not-enough-evidence') return notEnough(parts, blocking, worse);
  if (worse.length > 0) return movedFirst(parts, surfaceKind, worse);
  const f = factors(parts);
  const target = fixed(parts.target.f, 2);
  const apartReasons = apart(reasonsOf(parts));
  const statements: Record<Exclude<VerdictKind, 'not-enough-evidence'>, string> = {
    'target-met': `${parts.surface} meets the target of ${target}: ${f}. ${riskSentence(parts)}`,
    'better-short-of-target': `${parts.surface} is better, but is not shown to meet the target of ${target}: ${f}. ${riskSentence(parts)}`,
    'no-change-shown': `${parts.surface} shows no change that can be told from chance and sensor error: ${f}. ${noChangeSentence(parts)}`,
    worse: `${parts.surface} got worse: ${f}. ${riskSentence(parts)}`,
  };
  return {
    kind: surfaceKind,
    surfaceKind,
    statement: statements[surfaceKind],
    statementFigures: ['target', 'before.f', 'after.f', ...RISK_FIGURES],
    ...apartReasons,
  };
}

const RISK_FIGURES = ['riskHours.expectedAfterWithoutWorks', 'riskHours.after'];

/** A reason with the paths of the figures it rests on. */
interface Reason {
  readonly text: string;
  readonly about: ReasonAbout;
  readonly figures: readonly string[];
}

/** Each reason once, texts and figures in columns of one length. */
function apart(reasons: readonly Reason[]): Pick<Verdict, 'reasons' | 'reasonsAbout' | 'reasonFigures'> {
  const once = reasons.filter(({ text }, i) => reasons.findIndex((other) => other.text === text) === i);
  return {
    reasons: once.map(({ text }) => text),
    reasonsAbout: once.map(({ about }) => about),
    reasonFigures: once.map(({ figures }) => figures),
  };
}

/** Figures of a place trouble may have moved to. */
const movedReason = ({ moved }: VerdictParts, one: MovedTrouble): Reason => ({
  text: one.statement,
  about: { kind: 'moved', index: moved.indexOf(one) },
  figures: one.figures.flatMap(({ before, after }, k) =>
    [before && 'before', after && 'after'].flatMap((side) =>
      side === null ? [] : [`movedTrouble.${moved.indexOf(one)}.figures.${k}.${side}`],
    ),
  ),
});

const findingReason = ({ findings }: VerdictParts, one: Finding): Reason => ({
  text: one.message,
  about: { kind: 'finding', index: findings.indexOf(one) },
  figures: [`sufficiency.findings.${findings.indexOf(one)}`],
});

function notEnough(parts: VerdictParts, blocking: readonly Finding[], worse: readonly MovedTrouble[]): Verdict {
  const first = blocking[0];
  const because = first?.message ?? 'No temperature factor could be worked out.';
  const mend = first?.mend ?? 'Log surface, room and outdoor air through cold nights in both phases.';
  const moved = worse.map((one) => one.statement);
  return {
    kind: 'not-enough-evidence',
    surfaceKind: 'not-enough-evidence',
    statement: `${moved.length > 0 ? `${moved.join(' ')} ` : ''}Not enough evidence yet: ${lowerFirst(because)} ${mend}`,
    statementFigures: [
      ...worse.flatMap((one) => movedReason(parts, one).figures),
      ...(first === undefined ? [] : findingReason(parts, first).figures),
    ],
    ...apart([...worse.map((one) => movedReason(parts, one)), ...blocking.map((one) => findingReason(parts, one))]),
  };
}

const lowerFirst = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);

function movedFirst(parts: VerdictParts, surfaceKind: VerdictKind, worse: readonly MovedTrouble[]): Verdict {
  const said = {
    'target-met': `meets the target of ${fixed(parts.target.f, 2)}`,
    'better-short-of-target': 'is better, though not shown to meet the target',
    'no-change-shown': 'shows no change',
    worse: 'got worse as well',
    'not-enough-evidence': 'cannot be judged yet',
  }[surfaceKind];
  return {
    kind: 'worse',
    surfaceKind,
    statement: `${worse[0]!.statement} ${parts.surface} itself ${said}: ${factors(parts)}.`,
    statementFigures: [...movedReason(parts, worse[0]!).figures, 'target', 'before.f', 'after.f'],
    ...apart([...worse.map((one) => movedReason(parts, one)), ...reasonsOf(parts)]),
  };
}

const factors = ({ before, after }: VerdictParts): string =>
  before?.f && after?.f ? `f ${withInterval(before.f, 2)} before, ${withInterval(after.f, 2)} after` : 'f not known';

function riskSentence({ riskHours }: VerdictParts): string {
  const { expectedAfterWithoutWorks: expected, after } = riskHours;
  if (!expected || !after) return 'What would have been without the works cannot be said from this log.';
  if (expected.high < 1 && after.high < 1) {
    return 'Neither the treated nor the untreated surface would have had a risk hour in this weather and with this living.';
  }
  const width = Math.round((expected.high - expected.low) / 2);
  return (
    `In the same weather, with the same living, the untreated surface would have had ` +
    `${fixed(expected.value, 0)} ± ${width} risk hours; it had ${fixed(after.value, 0)}.`
  );
}

function noChangeSentence(parts: VerdictParts): string {
  if (parts.control.kind === 'disagrees') return parts.control.statement;
  const { before, after, target } = parts;
  if (before?.f && after?.f && before.f.low >= target.f && after.f.low >= target.f) {
    return `It meets the target of ${fixed(target.f, 2)} in both phases.`;
  }
  const { before: first, after: second } = parts.riskHours;
  if (!first || !second) return 'More and colder nights or calibrated sensors would show smaller changes.';
  return `Risk hours went from ${fixed(first.value, 0)} to ${plural(second.value, 'hour', 'hours')}, which weather and living alone can do.`;
}

function reasonsOf(parts: VerdictParts): readonly Reason[] {
  const { change, before, after, riskHours, control, moved, findings, target } = parts;
  const reasons: Reason[] = [];
  const say = (kind: Exclude<ReasonAbout['kind'], 'moved' | 'finding'>, text: string, ...figures: string[]): void => {
    reasons.push({ text, about: { kind }, figures });
  };
  if (change) say('change', `f changed by ${withInterval(change, 2)}.`, 'change');
  if (after?.f) {
    const { low, high } = after.f;
    const where = low >= target.f ? 'wholly over' : high < target.f ? 'wholly under' : 'on both sides of';
    say(
      'target',
      `The interval of f after, ${fixed(low, 2)} to ${fixed(high, 2)}, lies ${where} the target ${fixed(target.f, 2)} (${target.source}).`,
      'after.f',
      'target',
    );
  }
  if (before?.f && before.f.low >= target.f) {
    say('met-before', `f met the target before the works already: ${withInterval(before.f, 2)}.`, 'before.f', 'target');
  }
  if (riskHours.avoided) {
    say(
      'avoided',
      `Risk hours avoided against the untreated surface in the same weather and living: ${withInterval(riskHours.avoided, 0)}.`,
      'riskHours.avoided',
    );
  }
  if (control.kind === 'agrees' || control.kind === 'disagrees') {
    say('control', control.statement, 'control.differenceInDifferences', 'control.controlChange');
  }
  for (const one of moved) reasons.push(movedReason(parts, one));
  for (const one of findings) if (one.severity === 'weakens') reasons.push(findingReason(parts, one));
  return reasons;
}
