import { setImmediate } from 'node:timers/promises';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { WatchHistory } from '../analysis/watch/history.ts';
import type { WatchSettings } from '../analysis/watch/settings.ts';
import type { Dwelling, OutgoingMessage, Recipient, Store, WatchNotice } from '../store/port.ts';
import { homeNames } from './home-names.ts';
import type { Judgements } from './load-history.ts';
import { judgeHours, speak, withChanges, workAhead } from './step.ts';
import { historyFor } from './watcher.ts';

/** The watcher looks so often, as far as a replay is concerned, ms. */
export const REPLAY_TICK_MS = HOUR_MS / 4;
/** Ticks between two turns for other work. */
const TURN_TICKS = 500;

export interface ReplayOptions extends Judgements {
  readonly store: Store;
  /** UTC milliseconds; watching begins at `from` with nothing known before */
  readonly from: number;
  readonly to: number;
  readonly settings: WatchSettings;
  readonly recipients: readonly Recipient[];
}

export interface Replayed {
  readonly notices: readonly WatchNotice[];
  readonly messages: readonly OutgoingMessage[];
}

/** Someone who wants to hear of everything, at any time: what would be sent to a home that has nobody yet. */
export const anyone = (dwellingId: number): Recipient => ({
  id: 0,
  dwellingId,
  name: 'anyone',
  channel: 'email',
  address: '',
  secret: null,
  language: 'en',
  rules: { codes: null, minimumSeverity: 'note' },
  quietHours: null,
  weeklySummary: true,
  dailyDigest: false,
  active: true,
  unsubscribedAt: null,
});

/**
 * Watches a home's past as if it were happening, a quarter of an hour at a time, and gives every notice and message there
 * would have been. By the functions that watch live, on the hours as they are known now; nothing is written. Readings that
 * came late count as if they had come in time, and nobody acknowledges anything.
 */
export async function replayHome(dwelling: Dwelling, options: ReplayOptions): Promise<Replayed> {
  const { store, from, to, settings, recipients } = options;
  const dwellingId = dwelling.id;
  const span = await store.hourSpan(dwellingId);
  const names = await homeNames(store, dwelling);
  const begin = Math.ceil(from / HOUR_MS) * HOUR_MS;
  const end = Math.floor(to / HOUR_MS) * HOUR_MS;
  if (span === null || begin >= end) return { notices: [], messages: [] };
  const whole = await historyFor(
    options,
    dwelling,
    settings,
    { scan: { from: begin, onceFrom: begin }, to: end },
    new Map(),
  );
  let notices: WatchNotice[] = [];
  let summaries: Readonly<Record<string, string>> = {};
  let evaluatedTo = begin;
  const messages: OutgoingMessage[] = [];
  for (let now = begin, tick = 0; now <= to; now += REPLAY_TICK_MS, tick++) {
    const work = workAhead({ evaluatedTo, changedFrom: null }, begin, now);
    if (work !== null) {
      const history: WatchHistory = { ...whole, hours: (work.to - whole.start) / HOUR_MS };
      const until = Number.POSITIVE_INFINITY;
      const judged = { dwellingId, history, settings, scan: work.scan, until, now, lastId: notices.length };
      notices = withChanges(notices, judgeHours(notices, judged));
      evaluatedTo = work.to;
    }
    const told = speak(notices, summaries, { dwellingId, now, recipients, names });
    notices = withChanges(notices, told.notices);
    summaries = told.summaries;
    messages.push(...told.messages);
    if (tick % TURN_TICKS === TURN_TICKS - 1) await setImmediate();
  }
  return { notices, messages };
}
