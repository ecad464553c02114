import { setImmediate } from 'node:timers/promises';
import { correctedColumn, inUse } from '../analysis/calibration.ts';
import { countedReadings } from '../analysis/health/set-aside.ts';
import type { HourRecord } from '../analysis/hour-record.ts';
import { buildHours, type PlacedColumns } from '../analysis/hours.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type {
  CalibrationRecord,
  CalibrationStore,
  DwellingStore,
  HourStore,
  Placement,
  ReadingStore,
  SeriesColumns,
  StaleHour,
} from './port.ts';

/** What the keeper of hours needs of a store. */
export type HourKeeping = Pick<DwellingStore, 'places' | 'placements' | 'series' | 'setInterval'> &
  Pick<CalibrationStore, 'calibrations'> &
  Pick<ReadingStore, 'seriesColumns' | 'readings'> &
  Pick<HourStore, 'staleDwellings' | 'staleHours' | 'countStaleHours' | 'replaceHours'>;

export interface HourKeeperOptions {
  /** Called after every chunk. `total` is what was known to be stale when the dwelling was begun. */
  readonly onProgress?: (progress: { readonly done: number; readonly total: number }) => void;
  /** Called after the hours of a span were rebuilt, `to` exclusive. */
  readonly onRebuilt?: (dwellingId: number, from: number, to: number) => void;
  /** Stale hours taken at a time: bounds the memory of a long rebuild, and how long other work waits for a turn. */
  readonly chunkHours?: number;
  /** Does the work on a dwelling, or leaves it where another process is at it. */
  readonly doAlone?: (dwellingId: number, task: () => Promise<void>) => Promise<unknown>;
  /** Dwellings worked on at a time: more than one where the store is on a server, which works while this process does. */
  readonly atATime?: number;
  /** Ends the work after the chunk that is being built; what is left stays stale. */
  readonly signal?: AbortSignal;
}

export interface HoursKept {
  /** hours rebuilt */
  readonly hours: number;
  /** hour records written */
  readonly records: number;
  /** series whose interval was learned */
  readonly learned: number;
}

const CHUNK_HOURS = 48;
/** Stale hours further apart than this are loaded apart. */
const SPAN_GAP_HOURS = 12;

/**
 * Rebuilds the records of every hour that is stale, once. An hour that becomes stale again meanwhile keeps its mark for
 * the next call, so that a dwelling that reports all the time does not keep this one busy for ever. Other work gets a turn
 * after every chunk.
 */
export async function keepHours(store: HourKeeping, options: HourKeeperOptions = {}): Promise<HoursKept> {
  const {
    onProgress,
    onRebuilt,
    doAlone = (_, task) => task(),
    signal,
    chunkHours = CHUNK_HOURS,
    atATime = 1,
  } = options;
  const kept = { hours: 0, records: 0, learned: 0 };

  async function keepDwelling(dwellingId: number): Promise<void> {
    kept.learned += await learnIntervals(store, dwellingId);
    const total = onProgress === undefined ? 0 : kept.hours + (await store.countStaleHours());
    for (let from = 0; ; ) {
      const stale = await store.staleHours(dwellingId, from, chunkHours);
      const last = stale.at(-1);
      if (last === undefined) return;
      for (const span of spansOf(stale)) kept.records += await rebuildSpan(store, dwellingId, span);
      kept.hours += stale.length;
      from = last.hour + HOUR_MS;
      onRebuilt?.(dwellingId, stale[0]!.hour, from);
      onProgress?.({ done: kept.hours, total: Math.max(total, kept.hours) });
      await setImmediate();
      if (signal?.aborted || stale.length < chunkHours) return;
    }
  }

  const waiting = (await store.staleDwellings()).values();
  const ends = await Promise.allSettled(
    Array.from({ length: atATime }, async () => {
      for (const dwellingId of waiting) {
        if (signal?.aborted) return;
        await doAlone(dwellingId, () => keepDwelling(dwellingId));
      }
    }),
  );
  const failed = ends.find((end) => end.status === 'rejected');
  if (failed !== undefined) throw failed.reason;
  return kept;
}

/** Cuts stale hours, in order of time, where they lie far apart. */
function spansOf(stale: readonly StaleHour[]): StaleHour[][] {
  const spans: StaleHour[][] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const hour of stale) {
    if (hour.hour - last > SPAN_GAP_HOURS * HOUR_MS) spans.push([]);
    spans.at(-1)!.push(hour);
    last = hour.hour;
  }
  return spans;
}

/** The marks were read before everything else: what changes between the two changes the mark, and the hour stays stale. */
async function rebuildSpan(store: HourKeeping, dwellingId: number, stale: readonly StaleHour[]): Promise<number> {
  const start = stale[0]!.hour;
  const end = stale.at(-1)!.hour + HOUR_MS;
  const [places, placements, calibrations, series] = await Promise.all([
    store.places(dwellingId),
    store.placements(dwellingId),
    store.calibrations(dwellingId),
    store.seriesColumns(dwellingId, start, end),
  ]);
  const columns = series.flatMap((column) => countedColumns(column, calibrations, placements));
  const wanted = new Set(stale.map(({ hour }) => hour));
  const records: HourRecord[] = buildHours({ start, hours: (end - start) / HOUR_MS, places, columns }).filter(
    ({ hour }) => wanted.has(hour),
  );
  await store.replaceHours(dwellingId, stale, records);
  return records.length;
}

/**
 * Readings of a series as hours are built from them: without those that cannot be true, corrected, cut into the pieces
 * during which the sensor stood at one place. To be asked of whole hours.
 */
export const countedColumns = (
  series: SeriesColumns,
  calibrations: readonly CalibrationRecord[],
  placements: readonly Placement[],
): PlacedColumns[] => placedColumns(asItShouldHaveBeen(countedReadings(series), calibrations), placements);

function asItShouldHaveBeen(column: SeriesColumns, calibrations: readonly CalibrationRecord[]): SeriesColumns {
  const { seriesId, quantity, times, values } = column;
  return { ...column, values: correctedColumn(times, values, inUse(calibrations, seriesId), quantity) };
}

/** Cuts a series into the pieces during which its sensor stood at one place. */
function placedColumns(series: SeriesColumns, placements: readonly Placement[]): PlacedColumns[] {
  const { sensorId, quantity, intervalSeconds, times, values } = series;
  return placements
    .filter((placement) => placement.sensorId === sensorId)
    .map(({ placeId, from, to }) => {
      const first = firstAtOrAfter(times, from);
      const end = to === null ? times.length : firstAtOrAfter(times, to);
      const piece = { times: times.subarray(first, end), values: values.subarray(first, end) };
      return { placeId, sensorId, quantity, intervalSeconds, ...piece };
    })
    .filter((piece) => piece.times.length > 0);
}

function firstAtOrAfter(times: Float64Array, time: number): number {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (times[middle]! < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Readings from which an interval is learned: enough for a median, few enough that it settles on the first day. */
const LEARN_FROM = { atLeast: 4, atMost: 48 };
const INTERVALS_SECONDS = [300, 600, 900, 1200, 1800, 3600];
/** How far over its nominal interval a sensor's clock and its radio may stretch it. No source: common practice. */
const STRETCH = 1.1;

async function learnIntervals(store: HourKeeping, dwellingId: number): Promise<number> {
  let learned = 0;
  for (const series of await store.series(dwellingId)) {
    if (series.intervalSeconds !== null) continue;
    const first = await store.readings(dwellingId, series.id, 0, Number.POSITIVE_INFINITY, LEARN_FROM.atMost);
    const interval = intervalOf(first.map(({ time }) => time));
    if (interval === null) continue;
    await store.setInterval(dwellingId, series.id, interval);
    learned++;
    await setImmediate();
  }
  return learned;
}

/** The usual interval that the median spacing of some readings fits in, s; null: too few readings to tell. */
export function intervalOf(times: readonly number[]): number | null {
  if (times.length < LEARN_FROM.atLeast) return null;
  const spacings = times.slice(1).map((time, k) => time - times[k]!);
  spacings.sort((a, b) => a - b);
  const middle = spacings.length >>> 1;
  const median = spacings.length % 2 === 1 ? spacings[middle]! : (spacings[middle - 1]! + spacings[middle]!) / 2;
  return INTERVALS_SECONDS.find((seconds) => median <= seconds * 1000 * STRETCH) ?? INTERVALS_SECONDS.at(-1)!;
}
