import type { FileProblem } from '../../../server/api/contract/lining-file.ts';
import { liningWords } from '../words/lining.ts';
import type { Draft, ListName } from './draft.ts';

const t = liningWords.faults;

/** What is wrong with one value, in words; fields find theirs by list, layer and name. */
export interface Faults {
  readonly at: (list: ListName, index: number, field: string) => string | null;
  /** by pointer, for what is not a layer */
  readonly of: (pointer: string) => string | null;
  /** what no field of the screen shows */
  readonly rest: readonly string[];
  readonly any: boolean;
}

const SEPARATOR = '\n';

/** Puts each problem of a file beside the field it is about. Layers that stand in both build-ups are told once. */
export function faultsOf(problems: readonly FileProblem[], { existing, lining, behind }: Draft): Faults {
  const beside = new Map<string, string>();
  const rest: string[] = [];
  for (const problem of problems) {
    const said = wordsOf(problem);
    const [, build, , number, ...field] = problem.at.split('/');
    const index = Number(number);
    if ((build === 'before' || build === 'after') && field.length > 0 && Number.isInteger(index)) {
      const list: ListName =
        build === 'before' ? 'existing' : index < lining.length ? 'lining' : behind ? 'behind' : 'existing';
      const own = build === 'after' && list !== 'lining' ? index - lining.length : index;
      beside.set([list, own, field.join('.')].join(SEPARATOR), said);
    } else if (/^\/(pitch_deg|design|air_leak|climate)/.test(problem.at)) {
      beside.set(problem.at, said);
    } else {
      rest.push(said);
    }
  }
  const known = (list: readonly unknown[] | null): boolean => list !== null && list.length === 0;
  if (known(lining) && rest.length === 0 && problems.length > 0) rest.push(liningWords.noLining);
  if (known(existing) && rest.length === 0) rest.push(liningWords.noLining);
  return {
    at: (list, index, field) => beside.get([list, index, field].join(SEPARATOR)) ?? null,
    of: (pointer) => beside.get(pointer) ?? null,
    rest: [...new Set(rest)],
    any: problems.length > 0,
  };
}

function wordsOf({ at, message, fault }: FileProblem): string {
  switch (fault?.kind) {
    case 'missing':
      return at.endsWith('/name') ? t.empty : t.missing;
    case 'not-a-number':
      return t.notNumber;
    case 'too-small':
      return fault.inclusive ? t.atLeast(String(fault.limit)) : t.above(String(fault.limit));
    case 'too-big':
      return fault.inclusive ? t.atMost(String(fault.limit)) : t.below(String(fault.limit));
    default:
      return message.charAt(0).toUpperCase() + message.slice(1);
  }
}
