/** Points and ticks as Chart.js wants them; it leaves a gap where y is NaN. */
import { localMidnights } from '../time/zone.ts';
import type { ChartPoint, PlotLine } from './plot-parts.ts';
import { middleOf, type Trace } from './trace.ts';

const HOUR_MS = 3_600_000;
const MINUTE_MS = 60_000;
/** Spacings of ticks within a day, minutes. */
const CLOCK_STEPS = [5, 10, 15, 30, 60, 120, 180, 360] as const;

/**
 * The lines that show a trace: what its sensors may be off by, from the lowest to the highest of each entry, the mean, and
 * a dot for an entry that stands alone and would show no line.
 */
export function linesOf({ entries, ink, stroke, label }: Trace): PlotLine[] {
  const { min, mean, max, plusMinus } = entries;
  const xs = mean.map((_, i) => middleOf(entries, i));
  const points = (value: (i: number) => number): ChartPoint[] => Array.from(xs, (x, i) => ({ x, y: value(i) }));
  const known = (i: number): boolean => i >= 0 && i < mean.length && !Number.isNaN(mean[i]!);
  const alone = Array.from(xs, (x, i) => ({ x, y: mean[i]! })).filter(
    (_, i) => known(i) && !known(i - 1) && !known(i + 1),
  );
  const lines: PlotLine[] = [];
  if (plusMinus.some((value) => value > 0)) {
    lines.push(
      { points: points((i) => min[i]! - plusMinus[i]!), ink, stroke: 'none' },
      { points: points((i) => max[i]! + plusMinus[i]!), ink, stroke: 'none', shade: 'paler-to-previous' },
    );
  }
  if (min.some((value, i) => value < max[i]!)) {
    lines.push(
      { points: points((i) => min[i]!), ink, stroke: 'none' },
      { points: points((i) => max[i]!), ink, stroke: 'none', shade: 'to-previous' },
    );
  }
  lines.push({ points: points((i) => mean[i]!), ink, stroke, ...(label === undefined ? {} : { label }) });
  if (alone.length > 0) lines.push({ points: alone, ink, stroke: 'dots' });
  return lines;
}

export interface Tick {
  readonly at: number;
  readonly style: 'time' | 'weekday' | 'day' | 'month' | 'monthYear';
}

/** Ticks of a time axis at local noons, midnights or firsts of the month, at most `most` of them. */
export function timeTicks(zone: string, from: number, to: number, most: number): Tick[] {
  const midnights = localMidnights(zone, from, to).filter((at) => at >= from);
  const room = Math.max(1, most);
  const clock = CLOCK_STEPS.find((step) => (to - from) / (step * MINUTE_MS) <= room);
  if (clock !== undefined) return clockTicks(zone, from, to, clock * MINUTE_MS);
  if (midnights.length <= 4 && midnights.length * 2 <= room) {
    const noons = midnights.map((at) => at + 12 * HOUR_MS).filter((at) => at < to);
    return [
      ...midnights.map((at): Tick => ({ at, style: 'weekday' })),
      ...noons.map((at): Tick => ({ at, style: 'time' })),
    ].sort((a, b) => a.at - b.at);
  }
  if (midnights.length <= 45) {
    const step = Math.ceil(midnights.length / room);
    return midnights.filter((_, i) => i % step === 0).map((at) => ({ at, style: 'day' }));
  }
  const months = midnights.filter((at) => isFirst(zone, at));
  const step =
    [1, 2, 3, 6, 12].find((every) => months.length / every <= room) ?? 12 * Math.ceil(months.length / 12 / room);
  return months
    .filter((_, i) => i % step === 0)
    .map((at) => ({ at, style: midnights.length > 300 ? 'monthYear' : 'month' }));
}

/** Ticks within the days of a short span, by the clock on the wall from each midnight on. */
function clockTicks(zone: string, from: number, to: number, step: number): Tick[] {
  const days = localMidnights(zone, from, to);
  return days.flatMap((midnight, i) => {
    const end = Math.min(to, days[i + 1] ?? to);
    const ticks: Tick[] = [];
    for (let at = midnight; at < end; at += step) {
      if (at >= from) ticks.push({ at, style: at === midnight ? 'weekday' : 'time' });
    }
    return ticks;
  });
}

const dayNumbers = new Map<string, Intl.DateTimeFormat>();
const firsts = new Map<string, Map<number, boolean>>();

/** Whether a month begins at a local midnight. Kept, for charts ask for the same days again and again. */
function isFirst(zone: string, midnight: number): boolean {
  let known = firsts.get(zone);
  if (known === undefined) {
    known = new Map();
    firsts.set(zone, known);
  }
  let first = known.get(midnight);
  if (first === undefined) {
    first = dayNumber(zone, midnight) === '1';
    known.set(midnight, first);
  }
  return first;
}

function dayNumber(zone: string, midnight: number): string {
  let format = dayNumbers.get(zone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-GB', { timeZone: zone, day: 'numeric' });
    dayNumbers.set(zone, format);
  }
  return format.format(midnight);
}

/** The first days of the months of a winter year, as days since 1 October of a year that is not a leap year. */
export const winterMonths: readonly { readonly day: number; readonly month: number }[] = [
  { day: 0, month: 9 },
  { day: 31, month: 10 },
  { day: 61, month: 11 },
  { day: 92, month: 0 },
  { day: 123, month: 1 },
  { day: 151, month: 2 },
  { day: 182, month: 3 },
  { day: 212, month: 4 },
  { day: 243, month: 5 },
  { day: 273, month: 6 },
  { day: 304, month: 7 },
  { day: 335, month: 8 },
];
