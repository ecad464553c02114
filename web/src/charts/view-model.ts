/**
 * What the charts want of the API's columns, made here and nowhere else. In the API a missing value is null; Chart.js
 * leaves a gap where y is NaN.
 */
import { localMidnights } from '../time/zone.ts';

const HOUR_MS = 3_600_000;

export interface ChartPoint {
  readonly x: number;
  /** NaN: a gap */
  readonly y: number;
}

export const gapped = (value: number | null | undefined): number => value ?? Number.NaN;

/** Hourly values as points; each stands at the middle of its hour. */
export function hourPoints(start: number, values: readonly (number | null)[]): ChartPoint[] {
  return values.map((value, i) => ({ x: start + (i + 0.5) * HOUR_MS, y: gapped(value) }));
}

/** Daily values as points at 0, 1, 2 ... days from `first`. */
export function dayPoints(values: readonly (number | null)[], first = 0): ChartPoint[] {
  return values.map((value, i) => ({ x: first + i, y: gapped(value) }));
}

export interface Spread {
  readonly mean: number | null;
  readonly min: number | null;
  readonly max: number | null;
  readonly count: number;
}

/** Mean and extremes of what is known; null over nothing. */
export function spreadOf(values: readonly (number | null)[]): Spread {
  let [sum, min, max, count] = [0, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0];
  for (const value of values) {
    if (value === null) continue;
    sum += value;
    min = Math.min(min, value);
    max = Math.max(max, value);
    count += 1;
  }
  return count === 0 ? { mean: null, min: null, max: null, count } : { mean: sum / count, min, max, count };
}

export interface LocalDay {
  readonly midnight: number;
  /** indices of the hours of the day, `to` excluded */
  readonly from: number;
  readonly to: number;
}

/** Which hours belong to which local day; days of 23 and 25 hours come out right. */
export function localDays(zone: string, start: number, hours: number): LocalDay[] {
  const end = start + hours * HOUR_MS;
  const midnights = hours > 0 ? localMidnights(zone, start, end) : [];
  return midnights.map((midnight, i) => ({
    midnight,
    from: Math.max(0, Math.ceil((midnight - start) / HOUR_MS)),
    to: Math.min(hours, Math.ceil(((midnights[i + 1] ?? end) - start) / HOUR_MS)),
  }));
}

export interface Envelope {
  readonly min: readonly ChartPoint[];
  readonly max: readonly ChartPoint[];
  readonly mean: readonly ChartPoint[];
}

/** Lowest, highest and mean of each local day, at its noon: over many days no peak vanishes. */
export function dayEnvelope(days: readonly LocalDay[], values: readonly (number | null)[]): Envelope {
  const rows = days.map((day) => ({ x: day.midnight + 12 * HOUR_MS, ...spreadOf(values.slice(day.from, day.to)) }));
  const points = (name: 'min' | 'max' | 'mean') => rows.map((row) => ({ x: row.x, y: gapped(row[name]) }));
  return { min: points('min'), max: points('max'), mean: points('mean') };
}

export interface Tick {
  readonly at: number;
  readonly style: 'time' | 'weekday' | 'day' | 'month' | 'monthYear';
}

/** Ticks of a time axis at local noons, midnights or firsts of the month, at most `most` of them. */
export function timeTicks(zone: string, from: number, to: number, most: number): Tick[] {
  const midnights = localMidnights(zone, from, to).filter((at) => at >= from);
  const room = Math.max(1, most);
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
  const firsts = midnights.filter((at) => isFirst(zone, at));
  const step =
    [1, 2, 3, 6, 12].find((months) => firsts.length / months <= room) ?? 12 * Math.ceil(firsts.length / 12 / room);
  return firsts
    .filter((_, i) => i % step === 0)
    .map((at) => ({ at, style: midnights.length > 300 ? 'monthYear' : 'month' }));
}

const dayNumbers = new Map<string, Intl.DateTimeFormat>();

function isFirst(zone: string, midnight: number): boolean {
  let format = dayNumbers.get(zone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-GB', { timeZone: zone, day: 'numeric' });
    dayNumbers.set(zone, format);
  }
  return format.format(midnight) === '1';
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
