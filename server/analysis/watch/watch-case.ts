import type { Notice } from '../../physics/notice.ts';
import { HOUR_MS } from '../vocabulary.ts';
import type { WatchHistory } from './history.ts';
import type { WatchSettings } from './settings.ts';
import type { EndReason, WatchData, WatchEvent, WatchSubject } from './watch-event.ts';

/** How something begins: since when, and what is told of it. */
export interface Beginning {
  /** index of the hour it began in, at or before the hour asked for */
  readonly since: number;
  readonly severity: Notice['severity'];
  readonly chance: number | null;
  readonly data: WatchData;
}

/**
 * One rule at one subject. Beginning and end have different conditions, so that an event does not come and go with every
 * hour. Each looks at hours up to and including `i` alone.
 */
export interface WatchCase extends WatchSubject {
  /** whether anything is known of it in hour `i` */
  readonly known: (i: number) => boolean;
  readonly begins: (i: number) => Beginning | null;
  /** index of the first hour in which it was over; null: it goes on */
  readonly ends: (i: number) => number | null;
}

/** The cases of one rule in a home. */
export type CasesOf = (history: WatchHistory, settings: WatchSettings) => WatchCase[];

/** Hours up to `i` that are known, and those for which something holds. */
export function countBack(
  i: number,
  hours: number,
  holds: (k: number) => boolean | null,
): { readonly known: number; readonly held: number; readonly first: number } {
  let known = 0;
  let held = 0;
  let first = -1;
  for (let k = Math.max(0, i - hours + 1); k <= i; k++) {
    const answer = holds(k);
    if (answer === null) continue;
    known += 1;
    if (!answer) continue;
    held += 1;
    if (first < 0) first = k;
  }
  return { known, held, first };
}

/** Mean of the known values of the last hours; null where fewer than `fewest` are known. */
export function meanBack(
  of: Float64Array | ((k: number) => number),
  i: number,
  hours: number,
  fewest: number,
): number | null {
  const at = typeof of === 'function' ? of : (k: number): number => of[k]!;
  let known = 0;
  let sum = 0;
  for (let k = Math.max(0, i - hours + 1); k <= i; k++) {
    const value = at(k);
    if (Number.isNaN(value)) continue;
    known += 1;
    sum += value;
  }
  return known === 0 || known < fewest ? null : sum / known;
}

/** What was known of a case when a scan begins. */
export interface CaseBefore {
  /** the event that was going on; null: none */
  readonly ongoing: Pick<WatchEvent, 'begunAt' | 'knownAt' | 'severity' | 'chance' | 'data'> | null;
  /** when the event before was known to be over, UTC milliseconds: none reaches back over it; null: there was none */
  readonly lastEnd: number | null;
}

/**
 * Goes through the hours from index `from` on, one by one, and finds the events of a case: those that begin there and the
 * one that was going on.
 */
export function scanCase(
  one: WatchCase,
  { ongoing, lastEnd }: CaseBefore,
  history: WatchHistory,
  from: number,
  gapHours: number,
): WatchEvent[] {
  const { rule, placeId, sensorId, detail } = one;
  const subject = { rule, placeId, sensorId, detail };
  const at = (i: number): number => history.start + i * HOUR_MS;
  const events: WatchEvent[] = [];
  let open = ongoing;
  let notBefore = lastEnd === null ? 0 : Math.max(0, (lastEnd - history.start) / HOUR_MS);
  let silent = 0;
  if (open !== null) for (let i = from - 1; i >= 0 && !one.known(i); i--) silent += 1;
  const close = (endedAt: number, i: number, endReason: EndReason): void => {
    const { begunAt, knownAt, severity, chance, data } = open!;
    const end = { endedAt: Math.max(endedAt, begunAt + HOUR_MS), endKnownAt: at(i + 1), endReason };
    events.push({ ...subject, begunAt, knownAt, severity, chance, data, ...end });
    open = null;
    notBefore = i + 1;
  };
  for (let i = from; i < history.hours; i++) {
    silent = one.known(i) ? 0 : silent + 1;
    if (open === null) {
      const beginning = silent > 0 ? null : one.begins(i);
      if (beginning === null) continue;
      const { since, ...told } = beginning;
      open = { ...told, begunAt: at(Math.max(since, Math.min(notBefore, i))), knownAt: at(i + 1) };
      continue;
    }
    const over = silent > 0 ? null : one.ends(i);
    if (over !== null) close(at(over), i, 'over');
    else if (silent >= gapHours) close(at(i + 1 - silent), i, 'no-data');
  }
  if (open !== null) {
    const { begunAt, knownAt, severity, chance, data } = open;
    events.push({
      ...subject,
      begunAt,
      knownAt,
      severity,
      chance,
      data,
      endedAt: null,
      endKnownAt: null,
      endReason: null,
    });
  }
  return events;
}
