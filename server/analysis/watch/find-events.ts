import { HOUR_MS } from '../vocabulary.ts';
import { condensationAhead, nightCase } from './condensation-ahead.ts';
import { condensingNow } from './condensing-now.ts';
import { hiddenLayerDamp } from './hidden-layer-damp.ts';
import type { WatchHistory } from './history.ts';
import { loftWetter } from './loft-wetter.ts';
import { mouldStagePassed } from './mould-stage.ts';
import { notStored } from './not-stored.ts';
import { readingsStopped } from './readings-stopped.ts';
import { roomTooCold, roomTooMoist } from './room-climate.ts';
import { sensorCase, sensorTrouble } from './sensor-trouble.ts';
import { noticeSettings, type WatchSettings } from './settings.ts';
import { surfaceDamp } from './surface-damp.ts';
import { timberWet } from './timber-wet.ts';
import { type CaseBefore, type CasesOf, scanCase, type WatchCase } from './watch-case.ts';
import { subjectKey, type WatchEvent, type WatchRule, type WatchSubject, watchRules } from './watch-event.ts';

/** What a home is watched by, one file each. */
const casesOf: Readonly<Record<WatchRule, CasesOf>> = {
  'condensation-ahead': condensationAhead,
  'condensing-now': condensingNow,
  'surface-damp': surfaceDamp,
  'mould-stage': mouldStagePassed,
  'hidden-layer-damp': hiddenLayerDamp,
  'loft-wetter': loftWetter,
  'timber-wet': timberWet,
  'room-too-cold': roomTooCold,
  'room-too-moist': roomTooMoist,
  'sensor-trouble': sensorTrouble,
  'readings-stopped': readingsStopped,
  'not-stored': notStored,
};

/**
 * Rules that judge by what was known at the time, a look through the readings or a forecast: hours that come late do not
 * change that, so they are never gone back over.
 */
export const judgedOnce: ReadonlySet<WatchRule> = new Set(['condensation-ahead', 'sensor-trouble']);

/** From where the hours are gone through, UTC milliseconds: most rules, and those judged once. */
export interface ScanFrom {
  readonly from: number;
  readonly onceFrom: number;
}

export const scanBegin = (rule: WatchRule, { from, onceFrom }: ScanFrom): number =>
  judgedOnce.has(rule) ? onceFrom : from;

/** Whether an event was known and going on when a scan begins. */
export function wasOngoing({ rule, knownAt, endKnownAt }: WatchEvent, scan: ScanFrom): boolean {
  const at = scanBegin(rule, scan);
  return knownAt <= at && (endKnownAt === null || endKnownAt > at);
}

/**
 * Every event that begins from a time on, and those that were going on then, each as far as the history goes. The same
 * history, settings and known events give the same events, in the same order.
 *
 * @param known events found before, as far back as a rule looks; those that begin later are found anew
 */
export function findEvents(
  history: WatchHistory,
  settings: WatchSettings,
  known: readonly WatchEvent[],
  scan: ScanFrom,
): WatchEvent[] {
  const index = (time: number): number => Math.max(0, (time - history.start) / HOUR_MS);
  const ongoing = known.filter((event) => wasOngoing(event, scan));
  const cases = watchRules.flatMap((rule) => (settings[rule].on ? casesOf[rule](history, settings) : []));
  const covered = new Set(cases.map(subjectKey));
  const forgotten = ongoing.filter((one) => !covered.has(subjectKey(one)));
  const events = [
    ...cases.flatMap(eventsOf),
    ...forgotten.flatMap((one) => {
      const again = settings[one.rule].on ? caseOf(one) : null;
      return again === null ? [switchedOff(one)] : eventsOf(again);
    }),
  ];
  return events.sort((a, b) => a.knownAt - b.knownAt || (subjectKey(a) < subjectKey(b) ? -1 : 1));

  function eventsOf(one: WatchCase): WatchEvent[] {
    return scanCase(
      one,
      caseBefore(one, known, scan),
      history,
      index(scanBegin(one.rule, scan)),
      noticeSettings.gapHours,
    );
  }

  /** Cases that only arise from what was found, made again for an event that goes on. */
  function caseOf({ rule, sensorId, placeId, detail }: WatchSubject): WatchCase | null {
    if (rule === 'sensor-trouble' && sensorId !== null) return sensorCase(history, sensorId, detail);
    if (rule === 'condensation-ahead' && placeId !== null) return nightCase(history, settings, placeId, detail);
    return null;
  }

  /** Its rule is off, or its place is of another kind by now. */
  function switchedOff(one: WatchEvent): WatchEvent {
    const end = history.start + history.hours * HOUR_MS;
    const { rule, placeId, sensorId, detail, severity, begunAt, knownAt, chance, data } = one;
    const subject = { rule, placeId, sensorId, detail };
    return {
      ...subject,
      severity,
      begunAt,
      knownAt,
      chance,
      data,
      endedAt: end,
      endKnownAt: end,
      endReason: 'rule-off',
    };
  }
}

/** What was known of one subject when a scan begins. */
export function caseBefore(one: WatchSubject, known: readonly WatchEvent[], scan: ScanFrom): CaseBefore {
  const key = subjectKey(one);
  const begin = scanBegin(one.rule, scan);
  const own = known.filter((event) => subjectKey(event) === key);
  const ends = own.flatMap(({ endKnownAt }) => (endKnownAt !== null && endKnownAt <= begin ? [endKnownAt] : []));
  return {
    ongoing: own.find((event) => wasOngoing(event, scan)) ?? null,
    lastEnd: ends.length === 0 ? null : Math.max(...ends),
  };
}
