import { setImmediate } from 'node:timers/promises';
import type { PlaceNow } from '../analysis/now.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { isEvening } from '../analysis/watch/condensation-ahead.ts';
import { findLiveEvents, isWetNow } from '../analysis/watch/find-live.ts';
import type { WatchHistory } from '../analysis/watch/history.ts';
import type { StoringTrouble } from '../analysis/watch/not-stored.ts';
import { lookbackHours, type WatchSettings, watchSettingsOf } from '../analysis/watch/settings.ts';
import { subjectKey } from '../analysis/watch/watch-event.ts';
import type { Dwelling, Store, WatchNotice } from '../store/port.ts';
import { whileThere } from '../store/while-there.ts';
import { homeNames } from './home-names.ts';
import { type Judgements, loadHistory, type MouldMemory } from './load-history.ts';
import { matchLiveEvents } from './match-events.ts';
import { matchStoring } from './match-storing.ts';
import { createRounds, type Rounds } from './rounds.ts';
import { judgeHours, speak, type WorkAhead, withChanges, workAhead } from './step.ts';

/** Hours judged at a time: bounds memory, and how long other work waits for a turn. */
const CHUNK_MS = 60 * 24 * HOUR_MS;
/** Notices that ended within this time are at hand: a weekly summary, and word of an end, look back so far. */
const AT_HAND_MS = 15 * 24 * HOUR_MS;

export interface WatchParts extends Judgements {
  readonly store: Store;
  /** how places are by their latest readings, at a moment */
  latest(dwelling: Dwelling, time: number): Promise<readonly PlaceNow[]>;
  /** times in which readings could not be kept, as far as this run of the program knows */
  troubles(): readonly StoringTrouble[];
  readonly clock: () => number;
}

/**
 * Watches one home up to now: judges the hours that are new or were rebuilt, and puts the word that is due into the outbox.
 * All of what it decides is in the store before it returns, notices and messages in one transaction, so that it can be
 * stopped at any moment and called again. Gives whether any notice changed.
 */
export async function watchHome(parts: WatchParts, dwelling: Dwelling, memory: MouldMemory): Promise<boolean> {
  const { store, clock } = parts;
  let changedAny = false;
  for (;;) {
    const now = clock();
    const [progress, span] = await Promise.all([store.watchProgress(dwelling.id), store.hourSpan(dwelling.id)]);
    const work = span === null ? null : workAhead(progress, span.first, now);
    if (progress.changedFrom !== null) forgetMould(memory, dwelling.id, progress.changedFrom);
    const chunk = work === null ? null : { ...work, to: Math.min(work.to, work.scan.from + CHUNK_MS) };
    const isLast = chunk?.to === work?.to;
    const settings = watchSettingsOf(await store.watchOverrides(dwelling.id));
    const judgedFrom = Math.min(chunk?.scan.from ?? now, chunk?.scan.onceFrom ?? now);
    const reach = Math.max(0, Math.min(now - AT_HAND_MS, judgedFrom - lookbackHours(settings) * HOUR_MS));
    const [known, lastId, recipients, names] = await Promise.all([
      store.notices(dwelling.id, reach),
      store.lastNoticeId(dwelling.id),
      store.recipients(dwelling.id),
      homeNames(store, dwelling),
    ]);
    let judged: WatchNotice[] = [];
    if (chunk !== null) {
      // what is judged once waits for the last chunk
      const scan = isLast ? chunk.scan : { from: chunk.scan.from, onceFrom: chunk.to };
      const history = await historyFor(parts, dwelling, settings, { scan, to: chunk.to }, memory);
      const until = isLast ? Number.POSITIVE_INFINITY : chunk.to;
      judged = judgeHours(known, { dwellingId: dwelling.id, history, settings, scan, until, now, lastId });
    }
    if (isLast) judged = withChanges(judged, await judgeLatest(withChanges(known, judged)));
    if (isLast && settings['not-stored'].on) {
      const last = Math.max(lastId, judged.at(-1)?.id ?? 0);
      const storing = matchStoring(known, parts.troubles(), { dwellingId: dwelling.id, now, lastId: last });
      judged = withChanges(judged, storing);
    }
    const told = isLast
      ? speak(withChanges(known, judged), progress.summaries, { dwellingId: dwelling.id, now, recipients, names })
      : { notices: [], messages: [], summaries: progress.summaries };
    const notices = withChanges(judged, told.notices);
    if (chunk !== null || notices.length > 0 || told.messages.length > 0) {
      // a chunk that is not the last leaves the rest marked as to be judged
      const evaluatedTo = chunk === null ? progress.evaluatedTo : chunk.to;
      const record = { notices, evaluatedTo, seenMark: progress.mark, summaries: told.summaries };
      await store.recordNotices(dwelling.id, record, told.messages);
    }
    changedAny ||= notices.length > 0;
    if (isLast) return changedAny;
    await setImmediate();

    async function judgeLatest(notices: readonly WatchNotice[]): Promise<WatchNotice[]> {
      const open = new Set(notices.filter(({ endedAt }) => endedAt === null).map(subjectKey));
      const wet = (place: PlaceNow): boolean =>
        isWetNow(place) && !open.has(subjectKey({ rule: 'condensing-now', placeId: place.placeId, ...noDetail }));
      const latest = span === null || !settings['condensing-now'].on ? [] : await parts.latest(dwelling, now);
      if (!latest.some(wet)) return [];
      const to = Math.floor(now / HOUR_MS) * HOUR_MS;
      const start = Math.max(0, to - lookbackHours(settings) * HOUR_MS);
      const history = await loadHistory(store, dwelling, start, to, memory);
      const found = notices.filter(({ withdrawnAt }) => withdrawnAt === null);
      const events = findLiveEvents(history, latest, settings, found, now);
      const last = Math.max(lastId, notices.at(-1)?.id ?? 0);
      return matchLiveEvents(notices, events, { dwellingId: dwelling.id, now, lastId: last });
    }
  }
}

const noDetail = { sensorId: null, detail: '' } as const;

/** The hours of a piece of work with what must be looked up at moments: sensors, and the coming night. */
export async function historyFor(
  judgements: Judgements & Pick<WatchParts, 'store'>,
  dwelling: Dwelling,
  settings: WatchSettings,
  { scan, to }: WorkAhead,
  memory: MouldMemory,
): Promise<WatchHistory> {
  const start = Math.min(scan.from, scan.onceFrom) - lookbackHours(settings) * HOUR_MS;
  const history = await loadHistory(judgements.store, dwelling, Math.max(0, start), to, memory);
  const findings = new Map<number, Awaited<ReturnType<Judgements['findings']>>>();
  const nights = new Map<number, Awaited<ReturnType<Judgements['nights']>>>();
  for (let hour = scan.onceFrom; hour < to; hour += HOUR_MS) {
    const end = hour + HOUR_MS;
    const look = (end / HOUR_MS) % settings['sensor-trouble'].everyHours === 0;
    if (look && settings['sensor-trouble'].on) findings.set(hour, await judgements.findings(dwelling, end));
    if (settings['condensation-ahead'].on && isEvening(end, dwelling.zone, settings))
      nights.set(hour, await judgements.nights(dwelling, end));
    // either takes long: other work gets its turn between two
    if (findings.has(hour) || nights.has(hour)) await setImmediate();
  }
  return { ...history, findings, nights };
}

function forgetMould(memory: MouldMemory, dwellingId: number, from: number): void {
  for (const [key, { hour }] of memory) {
    if (key.startsWith(`${dwellingId}/`) && hour > from) memory.delete(key);
  }
}

interface Log {
  error(detail: object, message: string): void;
}

export interface WatcherOptions extends WatchParts {
  readonly log: Log;
  /** notices of a home changed */
  readonly onChanged: (dwellingId: number) => void;
  /** time between two looks, ms */
  readonly everyMs: number;
  /** of several processes that watch: when another looked at a home last, UTC ms, and what to do when this one has */
  readonly others?: {
    readonly lookedAt: ReadonlyMap<number, number>;
    readonly looked: (dwellingId: number) => void;
    /** where among the homes this one begins, 0 to 1: each somewhere else */
    readonly share: number;
  };
}

/** The same, from another one on. */
function inOwnOrder<T>(all: readonly T[], share: number): T[] {
  const first = Math.floor(share * all.length);
  return [...all.slice(first), ...all.slice(0, first)];
}

/** Keeps watch over every home while the program runs. */
export function createWatcher(options: WatcherOptions): Rounds {
  const { store, clock, log, onChanged, everyMs, others } = options;
  const memory: MouldMemory = new Map();

  async function lookAtAll(isClosing: () => boolean): Promise<void> {
    let failed: unknown = null;
    const began = clock();
    for (const dwelling of inOwnOrder(await store.dwellings(), others?.share ?? 0)) {
      if (isClosing()) return;
      // several processes come to each other's homes in time, and then each has gone round its part of them
      const lookedAt = others?.lookedAt.get(dwelling.id) ?? Number.NEGATIVE_INFINITY;
      if (lookedAt >= Math.min(began, clock() - everyMs / 2)) continue;
      try {
        const look = () => whileThere(store, dwelling.id, () => watchHome(options, dwelling, memory));
        const changed = await store.doAlone('watch', dwelling.id, look);
        if (changed !== null) others?.looked(dwelling.id);
        if (changed) onChanged(dwelling.id);
      } catch (error) {
        // one home that fails does not keep the others from being watched
        failed = error;
        log.error({ err: error, dwelling: dwelling.slug }, 'a home could not be watched; trying again');
      }
      await setImmediate();
    }
    if (failed !== null) throw failed;
  }

  return createRounds(everyMs, lookAtAll);
}
