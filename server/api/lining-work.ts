import type { AssessmentInput } from '../analysis/assessment-input.ts';
import { assessLining } from '../analysis/lining.ts';
import type { LiningInput } from '../analysis/lining-input.ts';
import { loggedHoursOf, measuredBeside } from '../analysis/lining-measured.ts';
import { besideJson, type LiningAnswer, liningJson } from './contract/lining-answer.ts';

/** A lining to be checked, with the home's own hours where they are to count; null: without a log. */
export interface LiningWork {
  readonly title: string | null;
  readonly input: Omit<LiningInput, 'logged'>;
  readonly places: AssessmentInput | null;
}

/** @throws RangeError for layers or states that cannot be */
export function liningAnswerOf({ title, input, places }: LiningWork): LiningAnswer {
  const logged = places && loggedHoursOf(places);
  const result = assessLining({ ...input, logged });
  const measured = places && logged && measuredBeside({ ...input, logged }, result.hidden, logged, places);
  return { ...liningJson(title, result), measured: measured?.map(besideJson) ?? null };
}
