import { HOUR_MS } from '../analysis/vocabulary.ts';
import { type ScanFrom, scanBegin, wasOngoing } from '../analysis/watch/find-events.ts';
import { isLive } from '../analysis/watch/find-live.ts';
import { subjectKey, type WatchEvent } from '../analysis/watch/watch-event.ts';
import type { WatchNotice } from '../store/port.ts';

export interface Matching {
  readonly dwellingId: number;
  readonly scan: ScanFrom;
  /** UTC milliseconds: notices known later than this were not looked for */
  readonly until: number;
  /** UTC milliseconds: hours up to here were looked at */
  readonly judgedTo: number;
  readonly now: number;
  /** highest id given so far */
  readonly lastId: number;
}

/**
 * Lays the events of a scan over the notices that are kept: one notice for one event. An event that is new becomes a
 * notice; one that is known keeps its notice, with what was found now; a notice whose event is not found again, because
 * readings came late, is withdrawn. Gives those that are new or differ. Laying the same events over the result changes nothing.
 */
export function matchEvents(
  notices: readonly WatchNotice[],
  events: readonly WatchEvent[],
  { dwellingId, scan, until, judgedTo, now, lastId }: Matching,
): WatchNotice[] {
  const changed: WatchNotice[] = [];
  const taken = new Set<number>();
  let id = lastId;
  const keep = (notice: WatchNotice, event: WatchEvent): void => {
    taken.add(notice.id);
    const settled = notice.endReason === 'rule-off' && event.endReason === 'rule-off';
    const next = settled ? notice : { ...notice, ...event, withdrawnAt: null };
    if (!sameFinding(notice, next)) changed.push(next);
  };
  const ongoing = new Map(
    notices
      .filter((notice) => notice.withdrawnAt === null && wasOngoing(notice, scan))
      .map((notice) => [subjectKey(notice), notice]),
  );
  for (const event of events) {
    const going = ongoing.get(subjectKey(event));
    if (going !== undefined && event.knownAt === going.knownAt) {
      keep(going, event);
      continue;
    }
    const same = notices
      .filter((notice) => !taken.has(notice.id) && notice.knownAt > scanBegin(notice.rule, scan))
      .filter((notice) => subjectKey(notice) === subjectKey(event) && overlap(notice, event))
      .sort((a, b) => Number(a.withdrawnAt !== null) - Number(b.withdrawnAt !== null))[0];
    if (same !== undefined) {
      keep(same, event);
      continue;
    }
    id += 1;
    changed.push(newNotice(event, id, dwellingId, now));
  }
  // what rests on latest readings waits for the record of its hour
  const waits = (notice: WatchNotice): boolean =>
    isLive(notice) && notice.knownAt > judgedTo && notice.knownAt <= now + HOUR_MS;
  const gone = notices.filter(
    (notice) =>
      !taken.has(notice.id) &&
      notice.withdrawnAt === null &&
      notice.knownAt > scanBegin(notice.rule, scan) &&
      notice.knownAt <= until &&
      !waits(notice),
  );
  for (const notice of gone) {
    const end = notice.endedAt === null ? { endedAt: now, endKnownAt: now, endReason: 'over' as const } : {};
    changed.push({ ...notice, ...end, withdrawnAt: now });
  }
  return changed;
}

export const newNotice = (event: WatchEvent, id: number, dwellingId: number, now: number): WatchNotice => ({
  ...event,
  id,
  dwellingId,
  recordedAt: now,
  withdrawnAt: null,
  told: {},
  acknowledgedAt: null,
  snoozedUntil: null,
});

/**
 * Notices of what the latest readings say has begun, and that none is open of: new, or the one that the record of the hour
 * before did not bear out, when the readings go on saying so.
 */
export function matchLiveEvents(
  notices: readonly WatchNotice[],
  events: readonly WatchEvent[],
  { dwellingId, now, lastId }: Pick<Matching, 'dwellingId' | 'now' | 'lastId'>,
): WatchNotice[] {
  let id = lastId;
  return events.map((event) => {
    const again = notices.find(
      (one) => one.withdrawnAt === now && isLive(one) && subjectKey(one) === subjectKey(event),
    );
    if (again !== undefined) return { ...again, ...event, withdrawnAt: null };
    id += 1;
    return newNotice(event, id, dwellingId, now);
  });
}

const FOREVER = Number.POSITIVE_INFINITY;

/** What was withdrawn keeps the span it was told with, so that it is known again when it comes back. */
const overlap = (a: WatchEvent, b: WatchEvent): boolean =>
  a.begunAt < (b.endedAt ?? FOREVER) && b.begunAt < (a.endedAt ?? FOREVER);

const sameFinding = (a: WatchNotice, b: WatchNotice): boolean => JSON.stringify(found(a)) === JSON.stringify(found(b));

const found = (notice: WatchNotice): unknown => [
  notice.severity,
  notice.begunAt,
  notice.knownAt,
  notice.endedAt,
  notice.endKnownAt,
  notice.endReason,
  notice.chance,
  notice.data,
  notice.withdrawnAt,
];
