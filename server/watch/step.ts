import { HOUR_MS } from '../analysis/vocabulary.ts';
import { findEvents, type ScanFrom } from '../analysis/watch/find-events.ts';
import type { WatchHistory } from '../analysis/watch/history.ts';
import type { WatchSettings } from '../analysis/watch/settings.ts';
import { noticeSettings } from '../analysis/watch/settings.ts';
import type { OutgoingMessage, WatchNotice, WatchProgress } from '../store/port.ts';
import { matchEvents } from './match-events.ts';
import { type Telling, tellNotices, tellSummaries } from './tell.ts';

const DAY_MS = 24 * HOUR_MS;
/** A clock that stood further ahead than this was wrong, and what was judged for its future is judged anew. */
const CLOCK_AHEAD_MS = 2 * DAY_MS;
/** Looks through the readings and forecasts are caught up on for so long at most. */
const ONCE_BACK_MS = 3 * DAY_MS;

/** What the hours judged so far, and those that changed, leave to be judged at a moment. */
export interface WorkAhead {
  readonly scan: ScanFrom;
  readonly to: number;
}

/**
 * Which hours are to be judged now; null: none.
 *
 * @param first the first hour that has a record, UTC milliseconds
 */
export function workAhead(
  { evaluatedTo, changedFrom }: Pick<WatchProgress, 'evaluatedTo' | 'changedFrom'>,
  first: number,
  now: number,
): WorkAhead | null {
  const whole = Math.floor((now - noticeSettings.settleMs) / HOUR_MS) * HOUR_MS;
  // a clock that was put back a little waits until it is where it was
  const to = evaluatedTo !== null && evaluatedTo - whole <= CLOCK_AHEAD_MS ? Math.max(whole, evaluatedTo) : whole;
  const from = Math.min(evaluatedTo ?? first, changedFrom ?? to, to);
  const nothingNew = evaluatedTo !== null && from >= evaluatedTo && to === evaluatedTo;
  if (nothingNew || (evaluatedTo === null && first >= to)) return null;
  const onceFrom = Math.min(to, Math.max(evaluatedTo ?? to - DAY_MS, to - ONCE_BACK_MS));
  return { scan: { from: Math.max(from, Math.min(first, to)), onceFrom }, to };
}

export interface JudgedHours {
  readonly dwellingId: number;
  readonly history: WatchHistory;
  readonly settings: WatchSettings;
  readonly scan: ScanFrom;
  readonly until: number;
  readonly now: number;
  readonly lastId: number;
}

/** Judges hours: the notices that are new or differ. */
export function judgeHours(notices: readonly WatchNotice[], judged: JudgedHours): WatchNotice[] {
  const { history, settings, scan } = judged;
  // what the program notices of itself is not in the hours: see match-storing.ts
  const ofHours = notices.filter(({ rule }) => rule !== 'not-stored');
  const known = ofHours.filter(({ withdrawnAt }) => withdrawnAt === null);
  const events = findEvents(history, settings, known, scan);
  return matchEvents(ofHours, events, { ...judged, judgedTo: history.start + history.hours * HOUR_MS });
}

/** Notices with those that changed in their place, in order of id. */
export function withChanges(notices: readonly WatchNotice[], changed: readonly WatchNotice[]): WatchNotice[] {
  const byId = new Map([...notices, ...changed].map((notice) => [notice.id, notice]));
  return [...byId.values()].sort((a, b) => a.id - b.id);
}

export interface Spoken {
  readonly notices: WatchNotice[];
  readonly messages: OutgoingMessage[];
  readonly summaries: Readonly<Record<string, string>>;
}

/** All word that is due at a moment, notices and weekly summaries. */
export function speak(
  notices: readonly WatchNotice[],
  summaries: Readonly<Record<string, string>>,
  telling: Telling,
): Spoken {
  const told = tellNotices(notices, telling);
  const weekly = tellSummaries(withChanges(notices, told.notices), summaries, telling);
  return {
    notices: told.notices,
    messages: [...told.messages, ...weekly.messages],
    summaries: weekly.summaries,
  };
}
