import { nightHours } from '../../../server/api/contract/nights.ts';
import { nights, type Stretch } from '../time/zone.ts';
import { chartWords as t } from '../words/charts.ts';
import { number, when } from '../words/format.ts';
import type { PlotTick } from './plot-parts.ts';
import { timeTicks, winterMonths } from './view-model.ts';
import type { Window } from './window.ts';

/** What runs along a chart from left to right, and how a place on it is said. */
export interface Axis {
  readonly narrowest: number;
  readonly ticks: (most: number, window: Window) => readonly PlotTick[];
  /** steps of the reading line */
  readonly step: number;
  /** a place on it in words */
  readonly say: (x: number) => string;
  /** the two ends of what is shown, in words */
  readonly ends: (window: Window) => readonly [string, string];
  /** heading of the first column of a table */
  readonly column: string;
  /** a place on it in a file, and what that column is called */
  readonly stamp: (x: number) => string;
  readonly stampName: string;
  readonly nights?: (window: Window) => readonly Stretch[];
}

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** Over more days than this the nights are hairlines and say nothing. */
export const NIGHTS_SHOWN_DAYS = 40;

/** Charts above each other ask for the same ticks, one after the other. */
function lastKept(make: Axis['ticks']): Axis['ticks'] {
  let last: { readonly most: number; readonly window: Window; readonly ticks: readonly PlotTick[] } | null = null;
  return (most, window) => {
    if (last === null || last.most !== most || last.window.from !== window.from || last.window.to !== window.to)
      last = { most, window, ticks: make(most, window) };
    return last.ticks;
  };
}

/** Time in a dwelling's own zone. */
export const timeAxis = (zone: string): Axis => ({
  narrowest: 2 * HOUR_MS,
  step: HOUR_MS,
  ticks: lastKept((most, { from, to }) =>
    timeTicks(zone, from, to, most).map(({ at, style }) => ({ at, label: when(zone, at, style) })),
  ),
  say: (x) => when(zone, x, 'full'),
  ends: ({ from, to }) => [when(zone, from, 'full'), when(zone, to, 'full')],
  column: t.from,
  stamp: (x) => new Date(x).toISOString(),
  stampName: t.time,
  nights: ({ from, to }) =>
    to - from > NIGHTS_SHOWN_DAYS * DAY_MS ? [] : nights(zone, from, to, nightHours.from, nightHours.to),
});

/** Months on an axis of days since 1 October. */
const monthTicks =
  (last: number) =>
  (most: number): PlotTick[] => {
    const shown = winterMonths.filter(({ day }) => day <= last);
    const step = [1, 2, 3, 6].find((months) => shown.length / months <= most) ?? 6;
    return shown
      .filter((_, i) => i % step === 0)
      .map(({ day, month }) => ({ at: day, label: when('UTC', Date.UTC(2026, month, 1), 'month') }));
  };

/** A day of any winter, by the calendar of one without a 29 February. */
const dayWords = (x: number): string => when('UTC', Date.UTC(2026, 9, 1) + Math.round(x) * DAY_MS, 'day');

/** Days since 1 October, for winters above each other. */
export const winterAxis: Axis = {
  narrowest: 7,
  step: 1,
  ticks: (most, { from, to }) => {
    if (to - from > 75) return monthTicks(to)(most).filter(({ at }) => at >= from && at <= to);
    const step = Math.max(1, Math.ceil((to - from) / most));
    const first = Math.ceil(from / step) * step;
    return Array.from({ length: Math.max(0, Math.floor((to - first) / step) + 1) }, (_, i) => ({
      at: first + i * step,
      label: dayWords(first + i * step),
    }));
  },
  say: dayWords,
  ends: ({ from, to }) => [dayWords(from), dayWords(to)],
  column: t.day,
  stamp: (x) => number(x),
  stampName: t.winterDayName,
};
