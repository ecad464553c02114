import type { z } from 'zod';
import type { Target } from '../analysis/assessment.ts';
import type { AssessmentInput } from '../analysis/assessment-input.ts';
import { defaultTarget } from '../analysis/assessment-settings.ts';
import { HOUR_MS, isSurface } from '../analysis/vocabulary.ts';
import { publishedFactors } from '../physics/published-factors.ts';
import { type AssessmentChoice, readAssessment, usualPhases } from '../store/assessment-reader.ts';
import type { Dwelling, Phase, Store } from '../store/port.ts';
import type { Assessor } from './assessor.ts';
import type { Comparison, comparisonQuery } from './contract/comparison.ts';
import { RequestProblem } from './problem.ts';
import type { Revisions } from './revisions.ts';
import { phaseView, placeView } from './views.ts';

/** A target by its figure; where published guidance asks for just that, its source. */
function targetOf(f: number | undefined): Target {
  if (f === undefined || f === defaultTarget.f) return defaultTarget;
  const published = publishedFactors.find(({ factor }) => factor === f);
  return { f, source: published ? `${published.source}, ${published.where}` : 'chosen by the reader' };
}

export interface ComparisonParts {
  readonly store: Store;
  readonly assessor: Pick<Assessor, 'assess' | 'makeReady'>;
  readonly revisions: Revisions;
  readonly clock: () => number;
}

type Query = z.output<typeof comparisonQuery>;

/** Comparisons of before and after, of which the last are remembered until hours or the story change. */
export interface Comparer {
  /** @throws RequestProblem for a surface or phases that cannot be compared */
  compare(dwelling: Dwelling, query: Query): Promise<Comparison>;
  /** Every ceiling by its usual phases, as the page shows it first; none while there are no phases or no room. */
  ceilings(dwelling: Dwelling): Promise<Comparison[]>;
  /** When somebody last asked for a comparison of a home, by its id, UTC ms. */
  readonly lastAsked: ReadonlyMap<number, number>;
}

/** Comparisons kept ready; a dwelling has few surfaces. */
const MOST_KEPT = 16;

/** Looks at whole hours only. */
export function createComparer(parts: ComparisonParts): Comparer {
  const { store, revisions, clock } = parts;
  const kept = new Map<string, Promise<Comparison>>();
  const lastAsked = new Map<number, number>();

  function remembered(dwelling: Dwelling, choice: AssessmentChoice, query: Query): Promise<Comparison> {
    const { surface, before, after, target, now } = choice;
    const key = JSON.stringify([
      [dwelling.id, revisions.of(dwelling.id), now, surface.id, before?.id, after?.id],
      [target.f, settingsOf(query)],
    ]);
    const known = kept.get(key);
    if (known) return known;
    const result = compare(parts, dwelling, choice, query);
    kept.set(key, result);
    result.catch(() => kept.delete(key));
    const oldest = kept.keys().next();
    if (kept.size > MOST_KEPT && !oldest.done) kept.delete(oldest.value);
    return result;
  }

  const wholeHour = (): number => Math.floor(clock() / HOUR_MS) * HOUR_MS;

  return {
    lastAsked,
    async compare(dwelling, query) {
      lastAsked.set(dwelling.id, clock());
      return remembered(dwelling, await choiceOf(store, dwelling, query, wholeHour()), query);
    },
    async ceilings(dwelling) {
      const [places, phases] = await Promise.all([store.places(dwelling.id), store.phases(dwelling.id)]);
      const { before, after } = usualPhases(phases);
      const comparisons: Comparison[] = [];
      if ((before === null && after === null) || !places.some(({ kind }) => kind === 'room-air')) return comparisons;
      for (const surface of places.filter(({ kind }) => kind === 'ceiling-surface')) {
        const choice = { surface, before, after, target: defaultTarget, now: wholeHour() };
        comparisons.push(await remembered(dwelling, choice, { surface: surface.id }));
      }
      return comparisons;
    },
  };
}

/** What is to be compared, of what the home has. */
async function choiceOf(store: Store, dwelling: Dwelling, query: Query, now: number): Promise<AssessmentChoice> {
  const [places, phases] = await Promise.all([store.places(dwelling.id), store.phases(dwelling.id)]);
  const surface = places.find(({ id }) => id === query.surface);
  if (!surface) throw new RequestProblem('not-found', `There is no place ${query.surface} in ${dwelling.slug}.`);
  if (!isSurface(surface.kind)) {
    throw new RequestProblem('bad-request', `${surface.name} is not a surface: choose a ceiling or control surface.`, [
      { pointer: '/surface', detail: 'must be a surface' },
    ]);
  }
  const usual = usualPhases(phases);
  const before = choose(phases, query.before, usual.before);
  const after = choose(phases, query.after, usual.after);
  return { surface, before, after, target: targetOf(query.target), now };
}

/** Assesses a surface before and after the works from the dwelling's hour records up to a whole hour. */
async function compare(
  { store, assessor }: ComparisonParts,
  dwelling: Dwelling,
  choice: AssessmentChoice,
  query: Query,
): Promise<Comparison> {
  assessor.makeReady();
  const input = await readAssessment(store, dwelling, choice);
  if (input === null)
    throw new RequestProblem('bad-request', 'Add the room the surface faces first, as a place of kind room air.');
  const { surface, before, after } = choice;
  return {
    surface: placeView(surface),
    before: before && phaseView(before),
    after: after && phaseView(after),
    assessment: await assessor.assess({ ...input, settings: settingsOf(query) }),
  };
}

const settingsOf = ({ riskLimit, mouldClass }: Query): AssessmentInput['settings'] => ({
  ...(riskLimit === undefined ? {} : { riskLimitPct: riskLimit }),
  ...(mouldClass === undefined ? {} : { mouldSensitivity: mouldClass }),
});

function choose(phases: readonly Phase[], wanted: number | undefined, usual: Phase | null): Phase | null {
  if (wanted === undefined) return usual;
  const phase = phases.find(({ id }) => id === wanted);
  if (!phase) throw new RequestProblem('not-found', `There is no phase ${wanted}.`);
  return phase;
}
