import { setImmediate } from 'node:timers/promises';
import { summaryOf, type WorksSummary, worksOf } from '../analysis/portfolio/summary.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { NightAhead } from '../analysis/watch/history.ts';
import { watchSettingsOf } from '../analysis/watch/settings.ts';
import { usualPhases } from '../store/assessment-reader.ts';
import type { KnownDwelling, Store } from '../store/port.ts';
import { whileThere } from '../store/while-there.ts';
import { createRounds, type Rounds } from '../watch/rounds.ts';
import type { Comparer } from './comparison.ts';

/** A home's comparison is worked out again when it is older than this; the story having changed, at once. */
const ASSESS_AGAIN_MS = 24 * HOUR_MS;
/** Lines looked for at a time. */
const AT_A_TIME = 100;

export interface SummaryParts {
  readonly store: Store;
  readonly comparer: Pick<Comparer, 'ceilings'>;
  readonly nights: (dwelling: KnownDwelling, time: number) => Promise<readonly NightAhead[]>;
  readonly clock: () => number;
  readonly log: { error(detail: object, message: string): void };
  /** time between two looks, ms */
  readonly everyMs: number;
}

/** Keeps the line of every home up, so that a list of many is read and never worked out. */
export interface SummaryKeeper extends Rounds {
  /** Hours or notices of a home changed: its line is worked out again at the next look. */
  changed(dwellingId: number): void;
  /** Its places, phases, sensors or calibrations did: so is its comparison. */
  storyChanged(dwellingId: number): void;
}

/** Where other processes keep the lines up. */
export const keptElsewhere: SummaryKeeper = {
  changed() {},
  storyChanged() {},
  look: async () => {},
  lastError: () => null,
  lastSeconds: () => null,
  close: async () => {},
};

/**
 * A line is due when its home changed, and at the beginning of every hour: a forecast grows old by itself. The comparison
 * of before and after costs a second of a small computer and moves slowly: once a day, or when its story changed.
 */
export function createSummaryKeeper(parts: SummaryParts): SummaryKeeper {
  const { store, clock, log, everyMs } = parts;
  const changed = new Set<number>();
  const storyChanged = new Set<number>();

  async function lookAtAll(isClosing: () => boolean): Promise<void> {
    const now = clock();
    let failed: unknown = null;
    const work = async (dwelling: KnownDwelling): Promise<void> => {
      const again = storyChanged.has(dwelling.id);
      const wasChanged = again || changed.has(dwelling.id);
      // taken off before it is read: what changes meanwhile is seen at the next look
      changed.delete(dwelling.id);
      storyChanged.delete(dwelling.id);
      try {
        const line = () => whileThere(store, dwelling.id, () => workOut(parts, dwelling, now, again));
        const isDone = await store.doAlone('summaries', dwelling.id, line);
        if (isDone !== null) return;
        // another process is at it, and may have begun before what changed; or the home was removed
        tried.add(dwelling.id);
        if (wasChanged) (again ? storyChanged : changed).add(dwelling.id);
      } catch (error) {
        failed = error;
        // a home that fails waits for the next look, and does not keep the others from being worked out
        tried.add(dwelling.id);
        (again ? storyChanged : changed).add(dwelling.id);
        log.error({ err: error, dwelling: dwelling.slug }, 'the line of a home could not be worked out; trying again');
      }
    };
    const tried = new Set<number>();
    const known = new Map((await store.dwellings()).map((dwelling) => [dwelling.id, dwelling]));
    for (const id of new Set([...changed, ...storyChanged])) {
      const dwelling = known.get(id);
      if (isClosing()) return;
      if (dwelling === undefined) forget(id);
      else await work(dwelling);
      await setImmediate();
    }
    for (;;) {
      const due = (await store.summariesBefore(hourOf(now), AT_A_TIME + tried.size)).filter((id) => !tried.has(id));
      if (due.length === 0) break;
      for (const id of due) {
        if (isClosing()) return;
        const dwelling = known.get(id);
        // one that was added since is for the next look
        if (dwelling === undefined) tried.add(id);
        else await work(dwelling);
        await setImmediate();
      }
    }
    if (failed !== null) throw failed;
  }

  function forget(id: number): void {
    changed.delete(id);
    storyChanged.delete(id);
  }

  return {
    ...createRounds(everyMs, lookAtAll),
    changed: (dwellingId) => changed.add(dwellingId),
    storyChanged: (dwellingId) => storyChanged.add(dwellingId),
  };
}

const hourOf = (time: number): number => Math.floor(time / HOUR_MS) * HOUR_MS;

/** Works out the line of one home and keeps it; true: done. */
async function workOut(parts: SummaryParts, dwelling: KnownDwelling, now: number, again: boolean): Promise<true> {
  const { store, nights } = parts;
  const [places, placements, notices, overrides, span, before, tonight] = await Promise.all([
    store.places(dwelling.id),
    store.placements(dwelling.id),
    store.openNotices(dwelling.id),
    store.watchOverrides(dwelling.id),
    store.hourSpan(dwelling.id),
    store.summary(dwelling.id),
    nights(dwelling, now),
  ]);
  const kept = before?.works ?? null;
  const works =
    again || kept === null || now - kept.assessedAt >= ASSESS_AGAIN_MS ? await assessed(parts, dwelling, now) : kept;
  const standing = new Set(placements.filter(({ to }) => to === null).map(({ sensorId }) => sensorId));
  await store.keepSummary(
    dwelling.id,
    summaryOf({
      now,
      dataTo: span === null ? null : span.last + HOUR_MS,
      places,
      nights: tonight,
      works,
      notices,
      settings: watchSettingsOf(overrides),
      sensors: standing.size,
    }),
  );
  return true;
}

/** Before and after at every ceiling, as the page compares them for one. */
async function assessed(
  { store, comparer }: SummaryParts,
  dwelling: KnownDwelling,
  now: number,
): Promise<WorksSummary> {
  const { after } = usualPhases(await store.phases(dwelling.id));
  const ceilings = await comparer.ceilings(dwelling);
  return worksOf(
    ceilings.map(({ surface, assessment }) => ({ place: surface.name, assessment })),
    after !== null,
    now,
  );
}
