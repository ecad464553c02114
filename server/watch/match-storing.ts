import type { StoringTrouble } from '../analysis/watch/not-stored.ts';
import { storingEvents } from '../analysis/watch/not-stored.ts';
import type { WatchNotice } from '../store/port.ts';
import { type Matching, newNotice } from './match-events.ts';

/**
 * Notices of times in which readings could not be kept: new ones, and those that are over. One that another run of the
 * program left open is over, for what says so can be written down.
 */
export function matchStoring(
  notices: readonly WatchNotice[],
  troubles: readonly StoringTrouble[],
  { dwellingId, now, lastId }: Pick<Matching, 'dwellingId' | 'now' | 'lastId'>,
): WatchNotice[] {
  const own = notices.filter(({ rule }) => rule === 'not-stored');
  const events = storingEvents(troubles, now);
  let id = lastId;
  const changed = events.flatMap((event) => {
    const known = own.find(({ begunAt }) => begunAt === event.begunAt);
    if (known === undefined) return [newNotice(event, ++id, dwellingId, now)];
    return known.endedAt === event.endedAt ? [] : [{ ...known, ...event }];
  });
  const left = own.filter(
    ({ begunAt, endedAt }) => endedAt === null && !events.some((event) => event.begunAt === begunAt),
  );
  const over = { endedAt: now, endKnownAt: now, endReason: 'over' as const };
  return [...changed, ...left.map((notice) => ({ ...notice, ...over }))];
}
