import { type ScanFrom, scanBegin, wasOngoing } from '../analysis/watch/find-events.ts';
import { subjectKey, type WatchEvent } from '../analysis/watch/watch-event.ts';
import type { WatchNotice } from '../store/port.ts';

export interface Matching {
  readonly dwellingId: number;
  readonly scan: ScanFrom;
  /** UTC milliseconds: notices known later than this were not looked for */
  readonly until: number;
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
  { dwellingId, scan, until, now, lastId }: Matching,
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
    changed.push({
      ...event,
      id,
      dwellingId,
      recordedAt: now,
      withdrawnAt: null,
      told: {},
      acknowledgedAt: null,
      snoozedUntil: null,
    });
  }
  const gone = notices.filter(
    ({ id: own, rule, knownAt, withdrawnAt }) =>
      !taken.has(own) && withdrawnAt === null && knownAt > scanBegin(rule, scan) && knownAt <= until,
  );
  for (const notice of gone) {
    const end = notice.endedAt === null ? { endedAt: now, endKnownAt: now, endReason: 'over' as const } : {};
    changed.push({ ...notice, ...end, withdrawnAt: now });
  }
  return changed;
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
