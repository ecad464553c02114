import type { TrackFigureWire } from '../../../server/api/contract/track.ts';
import { inReaderUnit, readerUnit, widthInReaderUnit } from '../words/format.ts';
import type { Window } from './window.ts';

export type TraceInk = 'ink' | 'inkSoft' | 'accent' | 'air';
export type TraceStroke = 'plain' | 'bold' | 'dashed' | 'dotted';

/**
 * What one line of a chart knows: an entry is a reading, an hour, a bucket or a day, and NaN is a gap. The chart, its
 * table, its reading line and its downloads are all made of this.
 */
export interface Entries {
  /** where each entry begins on the axis, ascending, and where the last one ends */
  readonly begins: Float64Array;
  readonly end: number;
  readonly min: Float64Array;
  readonly mean: Float64Array;
  readonly max: Float64Array;
  /** half width of the 95 % interval of what sensors may be off by */
  readonly plusMinus: Float64Array;
  readonly count: Float64Array;
  /** whether an entry stands at one point of the axis, or from its begin to the next */
  readonly at: 'point' | 'stretch';
}

export interface Trace {
  /** in words beside a figure, e.g. `margin` or `Loft air, humidity` */
  readonly name: string;
  /** words at the end of the line */
  readonly label?: string;
  readonly ink: TraceInk;
  readonly stroke: TraceStroke;
  readonly entries: Entries;
}

const column = (values: readonly (number | null)[]): Float64Array =>
  Float64Array.from(values, (value) => value ?? Number.NaN);

/** A figure as it comes from the API: null becomes NaN here and nowhere else. */
export function entriesOf(figure: TrackFigureWire): Entries {
  const start = Date.parse(figure.start);
  return {
    begins: Float64Array.from(figure.begins, (seconds) => start + seconds * 1000),
    end: start + figure.end * 1000,
    min: column(figure.min),
    mean: column(figure.mean),
    max: column(figure.max),
    plusMinus: column(figure.plusMinus),
    count: Float64Array.from(figure.count),
    at: figure.kind === 'readings' ? 'point' : 'stretch',
  };
}

/** The entries in the reader's unit of one of ours; the width of an interval is scaled alone. */
export function inUnits(entries: Entries, unit: string): Entries {
  if (readerUnit(unit) === unit) return entries;
  const { min, mean, max, plusMinus } = entries;
  const shown = (column: Float64Array): Float64Array => column.map((value) => inReaderUnit(value, unit));
  return {
    ...entries,
    min: shown(min),
    mean: shown(mean),
    max: shown(max),
    plusMinus: plusMinus.map((width) => widthInReaderUnit(width, unit)),
  };
}

/** Values at 0, 1, 2 … of an axis, or at `xs`, without spread; `low` and `high` are an interval where there is one. */
export function plainEntries(
  values: readonly (number | null)[],
  xs?: readonly number[],
  interval?: { readonly low: readonly number[]; readonly high: readonly number[] },
): Entries {
  const mean = column(values);
  return {
    begins: Float64Array.from(mean, (_, i) => xs?.[i] ?? i),
    end: (xs?.at(-1) ?? mean.length - 1) + 1,
    min: interval === undefined ? mean : column(interval.low),
    mean,
    max: interval === undefined ? mean : column(interval.high),
    plusMinus: new Float64Array(mean.length).fill(Number.NaN),
    count: Float64Array.from(mean, (value) => (Number.isNaN(value) ? 0 : 1)),
    at: 'point',
  };
}

/** Where an entry is drawn: at its time, or in the middle of its stretch. */
export function middleOf({ begins, end, at }: Entries, i: number): number {
  const begin = begins[i]!;
  return at === 'point' ? begin : (begin + (begins[i + 1] ?? end)) / 2;
}

export const endOf = ({ begins, end }: Entries, i: number): number => begins[i + 1] ?? end;

/** Index of the entry that holds a point of the axis, or for points the nearest; -1 where none does. */
export function entryAt(entries: Entries, x: number): number {
  const { begins, end, at } = entries;
  let low = 0;
  let high = begins.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (begins[middle]! <= x) low = middle + 1;
    else high = middle;
  }
  const before = low - 1;
  if (at === 'stretch') return before >= 0 && x < end ? before : -1;
  if (before < 0) return begins.length > 0 ? 0 : -1;
  const after = before + 1;
  return after < begins.length && begins[after]! - x < x - begins[before]! ? after : before;
}

/** First and last-but-one index of the entries that touch a window. */
export function indicesIn(entries: Entries, { from, to }: Window): { readonly first: number; readonly end: number } {
  let first = 0;
  while (
    first < entries.begins.length &&
    (entries.at === 'point' ? entries.begins[first]! < from : endOf(entries, first) <= from)
  )
    first++;
  let end = first;
  while (end < entries.begins.length && entries.begins[end]! < to) end++;
  return { first, end };
}

/** Finer entries in the place of coarse ones, as far as they go. */
export function spliced(coarse: Entries, fine: Entries): Entries {
  if (fine.begins.length === 0) return coarse;
  const start = fine.begins[0]!;
  let before = 0;
  while (before < coarse.begins.length && endOf(coarse, before) <= start) before++;
  let after = before;
  while (after < coarse.begins.length && coarse.begins[after]! < fine.end) after++;
  const joined = (name: 'min' | 'mean' | 'max' | 'plusMinus' | 'count' | 'begins'): Float64Array => {
    const all = new Float64Array(before + fine[name].length + coarse[name].length - after);
    all.set(coarse[name].subarray(0, before));
    all.set(fine[name], before);
    all.set(coarse[name].subarray(after), before + fine[name].length);
    return all;
  };
  return {
    begins: joined('begins'),
    end: after < coarse.begins.length ? coarse.end : fine.end,
    min: joined('min'),
    mean: joined('mean'),
    max: joined('max'),
    plusMinus: joined('plusMinus'),
    count: joined('count'),
    at: fine.at,
  };
}

export const isKnown = (entries: Entries): boolean => entries.mean.some((value) => !Number.isNaN(value));

export interface Spread {
  readonly name: string;
  readonly mean: number | null;
  readonly min: number | null;
  readonly max: number | null;
  readonly plusMinus: number | null;
  readonly count: number;
}

const orNull = (value: number | undefined): number | null =>
  value === undefined || Number.isNaN(value) ? null : value;

export const spreadAt = ({ name, entries }: Trace, i: number): Spread => ({
  name,
  mean: orNull(entries.mean[i]),
  min: orNull(entries.min[i]),
  max: orNull(entries.max[i]),
  plusMinus: orNull(entries.plusMinus[i]),
  count: entries.count[i] ?? 0,
});

/** A row of the table behind a chart, and of its file. */
export interface TraceRow {
  readonly begin: number;
  readonly end: number;
  /** one for each trace; null: it has no entry that begins here */
  readonly spreads: readonly (Spread | null)[];
}

/** Everything known of some traces in a window, in order of the axis. */
export function rowsOf(traces: readonly Trace[], window: Window): TraceRow[] {
  const rows = new Map<number, { end: number; spreads: (Spread | null)[] }>();
  traces.forEach((trace, k) => {
    const { first, end } = indicesIn(trace.entries, window);
    for (let i = first; i < end; i++) {
      const begin = trace.entries.begins[i]!;
      const row = rows.get(begin) ?? { end: endOf(trace.entries, i), spreads: traces.map(() => null) };
      row.spreads[k] = spreadAt(trace, i);
      rows.set(begin, row);
    }
  });
  return [...rows].sort(([a], [b]) => a - b).map(([begin, row]) => ({ begin, ...row }));
}
