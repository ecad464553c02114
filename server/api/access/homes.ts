import { type ConsentScope, takesIn } from '../../analysis/portfolio/vocabulary.ts';
import type { PortfolioView, Store } from '../../store/port.ts';
import { RequestProblem } from '../problem.ts';
import { type Actor, isLandlord } from './visit.ts';

type Asker = Extract<Actor, { kind: 'person' }>;

/**
 * Turns away whom a home is closed to: it is not in their reach or, to a landlord, its household has not agreed to what is
 * asked. Read from the store at every request, so that a consent that was withdrawn ends at once. What is not there looks
 * to them like what is closed.
 *
 * @param wanted what a household must have agreed to; null: no landlord gets it
 */
export async function requireReach(
  store: Pick<Store, 'isWithin' | 'consent'>,
  actor: Asker,
  dwellingId: number | null,
  wanted: ConsentScope | null,
): Promise<void> {
  const landlord = isLandlord(actor);
  if (!landlord && actor.reach.kind === 'all') return;
  const within = dwellingId !== null && (await store.isWithin(dwellingId, actor.reach));
  if (!landlord) {
    if (!within) throw new RequestProblem('not-allowed', 'This is not one of your homes.');
    return;
  }
  const agreed = within ? await store.consent(dwellingId) : null;
  if (agreed === null || wanted === null || !takesIn(agreed.scope, wanted)) {
    throw new RequestProblem(
      'not-shared',
      'The household of this home has not agreed to show you this, or no longer does.',
    );
  }
}

/** Which homes somebody sees, with at least so much agreed to where they are a landlord. */
export const viewOf = (actor: Actor, least: ConsentScope): PortfolioView =>
  actor.kind === 'person'
    ? { reach: actor.reach, shared: isLandlord(actor) ? least : null }
    : { reach: { kind: 'all' }, shared: null };
