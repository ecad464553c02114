import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { float8s, int4s, int8s, numbersIn, sendAll } from './arrays.ts';
import { copyFile } from './copy-file.ts';
import type { Transaction } from './database.ts';
import { sqlState } from './errors.ts';
import { markStale } from './stale.ts';

/** Rows of the table of readings, column by column. */
interface ReadingRows {
  readonly dwellingIds: Float64Array;
  readonly seriesIds: Float64Array;
  readonly times: Float64Array;
  readonly values: Float64Array;
}

/** Which readings of a batch were stored. */
interface Stored {
  isStored(place: number): boolean;
  /** places of the others, in the order in which they came */
  readonly left: readonly number[];
}

/** From so many on COPY is worth its ways to the server and back. */
const MANY = 200;

/**
 * Stores what is not there yet, of several for one instant the first, and marks the hours it lies in as stale. In the order
 * of the index, which halves what it costs to find the place of each.
 */
export async function insertReadings(tx: Transaction, rows: ReadingRows): Promise<Stored> {
  const order = orderOfIndex(rows);
  const sorted = rowsAt(rows, order);
  if (order.length >= MANY && (await copiedAllNew(tx, sorted))) return { isStored: () => true, left: [] };
  return insertNew(tx, sorted, order);
}

/** Places of rows in order of dwelling, series, time and arrival. */
const orderOfIndex = ({ dwellingIds, seriesIds, times }: ReadingRows): Uint32Array =>
  new Uint32Array(times.length)
    .map((_, k) => k)
    .sort(
      (a, b) => dwellingIds[a]! - dwellingIds[b]! || seriesIds[a]! - seriesIds[b]! || times[a]! - times[b]! || a - b,
    );

function rowsAt({ dwellingIds, seriesIds, times, values }: ReadingRows, places: ArrayLike<number>): ReadingRows {
  const [dwellingsAt, seriesAt, timesAt, valuesAt] = [dwellingIds, seriesIds, times, values].map((column) => {
    const at = new Float64Array(places.length);
    for (let k = 0; k < at.length; k++) at[k] = column[places[k]!]!;
    return at;
  });
  return { dwellingIds: dwellingsAt!, seriesIds: seriesAt!, times: timesAt!, values: valuesAt! };
}

/** Rows that repeat nothing, as most do, are copied in as they are; false: one of them does, and none was stored. */
async function copiedAllNew(tx: Transaction, sorted: ReadingRows): Promise<boolean> {
  const { dwellingIds, seriesIds, times, values } = sorted;
  for (let k = 1; k < times.length; k++) {
    const isRepeat =
      times[k] === times[k - 1] && seriesIds[k] === seriesIds[k - 1] && dwellingIds[k] === dwellingIds[k - 1];
    if (isRepeat) return false;
  }
  const file = copyFile([
    { type: 'integer', values: dwellingIds },
    { type: 'integer', values: seriesIds },
    { type: 'bigint', values: times },
    { type: 'double precision', values },
  ]);
  try {
    await tx.copyIn('reading (dwelling_id, series_id, time, value)', file);
  } catch (error) {
    // unique_violation: one is there already
    if (sqlState(error) === '23505') return false;
    throw error;
  }
  const hours = new Map<number, Set<number>>();
  for (let k = 0; k < times.length; k++) {
    const hour = Math.floor(times[k]! / HOUR_MS);
    const others = hours.get(dwellingIds[k]!);
    if (others === undefined) hours.set(dwellingIds[k]!, new Set([hour]));
    else others.add(hour);
  }
  const stale = [...hours].flatMap(([dwellingId, own]) => [...own].map((hour) => [dwellingId, hour] as const));
  await tx.run(markStale('SELECT * FROM unnest($1::int[], $2::int[]) AS touched (dwelling_id, hour)'), [
    int4s(stale.map(([dwellingId]) => dwellingId)),
    int4s(stale.map(([, hour]) => hour)),
  ]);
  return true;
}

/** All in one statement, as every one costs a way to the server and back. */
async function insertNew(tx: Transaction, sorted: ReadingRows, order: Uint32Array): Promise<Stored> {
  const { dwellingIds, seriesIds, times, values } = sorted;
  const sent = (await tx.first<{
    count: number;
    series: Buffer | null;
    times: Buffer | null;
    dwellings: Buffer | null;
  }>(
    `WITH stored AS (
       INSERT INTO reading (dwelling_id, series_id, time, value)
       SELECT * FROM unnest($1::int[], $2::int[], $3::bigint[], $4::float8[])
       ON CONFLICT DO NOTHING RETURNING dwelling_id, series_id, time
     ), marked AS (${markStale(`SELECT DISTINCT dwelling_id, (time / ${HOUR_MS})::int AS hour FROM stored`)})
     SELECT count(*) AS count, CASE WHEN count(*) < $5 THEN ${sendAll('dwelling_id')} END AS dwellings,
       CASE WHEN count(*) < $5 THEN ${sendAll('series_id')} END AS series,
       CASE WHEN count(*) < $5 THEN ${sendAll('time')} END AS times FROM stored`,
    [int4s(dwellingIds), int4s(seriesIds), int8s(times), float8s(values), times.length],
  ))!;
  if (sent.count === times.length) return { isStored: () => true, left: [] };
  // what was stored comes back in the order in which it was sent
  const stored = [sent.dwellings, sent.series, sent.times].map(numbersIn);
  const left = new Set<number>();
  let next = 0;
  for (const [k, place] of order.entries()) {
    const isNext = [dwellingIds, seriesIds, times].every((column, which) => column[k] === stored[which]![next]);
    if (isNext) next++;
    else left.add(place);
  }
  // conflicts are kept in the order in which they came
  return { isStored: (place) => !left.has(place), left: [...left].sort((a, b) => a - b) };
}

/** Keeps aside what says another thing of an instant than the reading that is kept; gives how many. */
export async function keepConflicts(
  tx: Transaction,
  rows: ReadingRows,
  left: readonly number[],
  receivedAt: number,
): Promise<number> {
  if (left.length === 0) return 0;
  const keys = ({ dwellingIds, seriesIds, times }: ReadingRows): Buffer[] => [
    int4s(dwellingIds),
    int4s(seriesIds),
    int8s(times),
  ];
  const sent = await tx.first<{ values: Buffer | null }>(
    `SELECT ${sendAll('value', 'place')} AS values
     FROM unnest($1::int[], $2::int[], $3::bigint[]) WITH ORDINALITY AS other (dwelling_id, series_id, time, place)
     JOIN reading USING (dwelling_id, series_id, time)`,
    keys(rowsAt(rows, left)),
  );
  const kept = numbersIn(sent!.values);
  const other = rowsAt(
    rows,
    left.filter((k, place) => rows.values[k] !== kept[place]),
  );
  if (other.times.length === 0) return 0;
  await tx.run(
    `INSERT INTO conflict (dwelling_id, series_id, time, value, received_at)
     SELECT dwelling_id, series_id, time, value, $5
     FROM unnest($1::int[], $2::int[], $3::bigint[], $4::float8[]) AS other (dwelling_id, series_id, time, value)
     ON CONFLICT DO NOTHING`,
    [...keys(other), float8s(other.values), receivedAt],
  );
  return other.times.length;
}
