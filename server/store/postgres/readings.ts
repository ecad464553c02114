import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { spanBound, wholeLimit } from '../arguments.ts';
import { checkBatch } from '../batch.ts';
import { DAY_MS, dayOf } from '../canonical.ts';
import type {
  AppendOutcome,
  Batch,
  Conflict,
  IncomingReading,
  LastReading,
  ReadingStore,
  SeriesColumns,
} from '../port.ts';
import { quantityOfWire } from '../wire.ts';
import { float8s, int4s, int8s, numbersIn, sendAll } from './arrays.ts';
import { type Arrivals, isOfItsDay, readArrivals, recordArrival } from './arrivals.ts';
import { copyFile } from './copy-file.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { sqlState } from './errors.ts';
import { createMemory } from './memory.ts';
import type { PartitionKeeper } from './partitions.ts';
import { countNotKept, keepQuarantined, resolveQuarantined } from './quarantine.ts';
import { requireDwelling } from './rows.ts';
import { makeSeries, put, readSeries, type SeriesOfDwelling } from './series-finder.ts';
import { markStale } from './stale.ts';
import { changeVersions } from './turns.ts';

/** What is remembered of a dwelling that reports: never changed once remembered, replaced instead. */
interface Reporting {
  readonly series: SeriesOfDwelling;
  /** null: nothing was stored yet since it was read */
  readonly arrivals: Arrivals | null;
}

const nothing: AppendOutcome = { stored: 0, repeated: 0, conflicting: 0 };

export function readingStore(db: Database, partitions: PartitionKeeper): ReadingStore {
  const memory = createMemory<Reporting>();

  /** The series of every reading; what is not known is made. */
  async function findSeries(
    tx: Transaction,
    readings: readonly IncomingReading[],
    reporting: Map<number, Reporting>,
    changed: Set<number>,
  ): Promise<number[]> {
    const unknown: number[] = [];
    for (const dwellingId of tx.turns.keys()) {
      const remembered = memory.recall(tx, dwellingId);
      if (remembered === undefined) unknown.push(dwellingId);
      else reporting.set(dwellingId, remembered);
    }
    for (const [dwellingId, series] of await readSeries(tx, unknown)) {
      reporting.set(dwellingId, { series, arrivals: null });
    }
    const ids: number[] = [];
    for (const reading of readings) {
      const { dwellingId, sensorKey, quantity } = reading;
      let id = reporting.get(dwellingId)!.series.get(sensorKey)?.get(quantity);
      if (id === undefined) {
        id = await makeSeries(tx, reading);
        // what was remembered is left as it was, should this transaction be undone
        if (!changed.has(dwellingId)) {
          const { series, arrivals } = reporting.get(dwellingId)!;
          const copy = new Map([...series].map(([key, ofSensor]) => [key, new Map(ofSensor)]));
          reporting.set(dwellingId, { series: copy, arrivals });
        }
        changed.add(dwellingId);
        put(reporting.get(dwellingId)!.series, sensorKey, quantity, id);
      }
      ids.push(id);
    }
    return ids;
  }

  async function appendReadings(tx: Transaction, batch: Batch): Promise<AppendOutcome> {
    const { receivedAt, readings, importId = null } = batch;
    const reporting = new Map<number, Reporting>();
    const changed = new Set<number>();
    const series = await findSeries(tx, readings, reporting, changed);
    const { isStored, left } = await insert(tx, readings, series);
    const conflicting = await keepConflicts(tx, batch, series, left);

    const receivedDay = dayOf(receivedAt);
    const unknown = new Set<number>();
    for (const [k, { dwellingId }] of readings.entries()) {
      if (isStored(k) && reporting.get(dwellingId)!.arrivals === null) unknown.add(dwellingId);
    }
    for (const [dwellingId, arrivals] of await readArrivals(tx, [...unknown], receivedDay)) {
      reporting.set(dwellingId, { ...reporting.get(dwellingId)!, arrivals });
    }

    const late = new Map<number, Map<number, number[]>>();
    for (const [k, { dwellingId, time }] of readings.entries()) {
      if (!isStored(k)) continue;
      const arrivals = reporting.get(dwellingId)!.arrivals!;
      if (importId === null && isOfItsDay(arrivals, series[k]!, time, receivedDay)) continue;
      const bySeries = late.get(dwellingId) ?? new Map<number, number[]>();
      late.set(dwellingId, bySeries);
      const times = bySeries.get(series[k]!);
      if (times === undefined) bySeries.set(series[k]!, [time]);
      else times.push(time);
    }
    for (const [dwellingId, bySeries] of late) {
      const { series: known, arrivals } = reporting.get(dwellingId)!;
      const highest = new Map(arrivals!.highest);
      const day = Math.max(receivedDay, arrivals!.openDay);
      for (const [seriesId, times] of bySeries) {
        await recordArrival(tx, dwellingId, seriesId, times, { day, importId });
        highest.set(
          seriesId,
          times.reduce((most, time) => Math.max(most, time), highest.get(seriesId) ?? 0),
        );
      }
      reporting.set(dwellingId, { series: known, arrivals: { ...arrivals!, highest } });
      changed.add(dwellingId);
    }

    const versions = await changeVersions(tx, [...changed]);
    for (const [dwellingId, what] of reporting) {
      memory.remember(tx, dwellingId, versions.get(dwellingId) ?? tx.turns.get(dwellingId)!, what);
    }
    const stored = readings.length - left.length;
    return { stored, repeated: left.length - conflicting, conflicting };
  }

  return {
    async append(batch) {
      checkBatch(batch);
      const { readings, quarantined, resolved = [], notKept = [] } = batch;
      if ([readings, quarantined, resolved, notKept].every((part) => part.length === 0)) return nothing;
      const days = new Set(readings.map(({ time }) => Math.floor(time / DAY_MS)));
      return partitions.withPartitions(
        'reading',
        [...days].map((day) => day * DAY_MS),
        () =>
          db.inTurns(
            readings.map(({ dwellingId }) => dwellingId),
            async (tx) => {
              await keepQuarantined(tx, quarantined);
              await resolveQuarantined(tx, resolved);
              await countNotKept(tx, notKept);
              return readings.length === 0 ? nothing : appendReadings(tx, batch);
            },
          ),
      );
    },

    async seriesColumns(dwellingId, from, to) {
      await requireDwelling(db, dwellingId);
      return readColumns(db, dwellingId, from, to, null);
    },

    async oneSeriesColumns(dwellingId, seriesId, from, to) {
      await requireDwelling(db, dwellingId);
      return (await readColumns(db, dwellingId, from, to, seriesId))[0] ?? null;
    },

    async readings(dwellingId, seriesId, from, to, limit) {
      await requireDwelling(db, dwellingId);
      return db.all<LastReading>(
        `SELECT series_id AS "seriesId", time, value FROM reading
         WHERE dwelling_id = $1 AND series_id = $2 AND time >= $3 AND time < $4 ORDER BY time LIMIT $5`,
        [dwellingId, seriesId, spanBound('from', from), spanBound('to', to), wholeLimit(limit)],
      );
    },

    async lastReadings(dwellingId) {
      await requireDwelling(db, dwellingId);
      return db.all<LastReading>(
        `SELECT series.id AS "seriesId", last.time, last.value
         FROM series CROSS JOIN LATERAL (
           SELECT time, value FROM reading WHERE reading.dwelling_id = series.dwelling_id AND series_id = series.id
           ORDER BY time DESC LIMIT 1) AS last
         WHERE series.dwelling_id = $1 ORDER BY series.id`,
        [dwellingId],
      );
    },

    async countReadings(dwellingId) {
      await requireDwelling(db, dwellingId);
      const { count } = (await db.first<{ count: number }>(
        'SELECT count(*) AS count FROM reading WHERE dwelling_id = $1',
        [dwellingId],
      ))!;
      return count;
    },

    async conflicts(dwellingId, limit) {
      await requireDwelling(db, dwellingId);
      return db.all<Conflict>(
        `SELECT conflict.series_id AS "seriesId", conflict.time, reading.value AS "keptValue",
           conflict.value AS "otherValue", conflict.received_at AS "receivedAt"
         FROM conflict JOIN reading USING (dwelling_id, series_id, time)
         WHERE conflict.dwelling_id = $1 ORDER BY conflict.received_at DESC, conflict.series_id, conflict.time, "otherValue" LIMIT $2`,
        [dwellingId, wholeLimit(limit)],
      );
    },
  };
}

/** Which readings of a batch were stored. */
interface Stored {
  isStored(place: number): boolean;
  /** places of the others, in the order in which they came */
  readonly left: number[];
}

/** From so many on COPY is worth its ways to the server and back. */
const MANY = 200;

/**
 * Stores what is not there yet, of several for one instant the first, and marks the hours it lies in as stale. In the order
 * of the index, which halves what it costs to find the place of each.
 */
async function insert(
  tx: Transaction,
  readings: readonly IncomingReading[],
  series: readonly number[],
): Promise<Stored> {
  const order = orderOfIndex(readings, series);
  if (order.length >= MANY && (await copiedAllNew(tx, readings, series, order))) {
    return { isStored: () => true, left: [] };
  }
  return insertNew(tx, readings, series, order);
}

/** More than a dwelling has series, and so few that one number holds both the dwelling's and the series' exactly. */
const MOST_SERIES = 1 << 21;

/** Places of readings in order of dwelling, series, time and arrival: series by series, as most come in order of time. */
function orderOfIndex(readings: readonly IncomingReading[], series: readonly number[]): number[] {
  const bySeries = new Map<number, number[]>();
  for (const [k, { dwellingId }] of readings.entries()) {
    const key = dwellingId * MOST_SERIES + series[k]!;
    const others = bySeries.get(key);
    if (others === undefined) bySeries.set(key, [k]);
    else others.push(k);
  }
  const order: number[] = [];
  for (const key of [...bySeries.keys()].sort((a, b) => a - b)) {
    // a sort keeps the order of what is equal
    for (const k of bySeries.get(key)!.sort((a, b) => readings[a]!.time - readings[b]!.time)) order.push(k);
  }
  return order;
}

/** Readings that repeat nothing, as most do, are copied in as they are; false: one of them does, and none was stored. */
async function copiedAllNew(
  tx: Transaction,
  readings: readonly IncomingReading[],
  series: readonly number[],
  order: readonly number[],
): Promise<boolean> {
  const repeats = order.some((k, place) => {
    const before = order[place - 1];
    return (
      before !== undefined &&
      readings[k]!.time === readings[before]!.time &&
      series[k] === series[before] &&
      readings[k]!.dwellingId === readings[before]!.dwellingId
    );
  });
  if (repeats) return false;
  const file = copyFile([
    { type: 'integer', values: order.map((k) => readings[k]!.dwellingId) },
    { type: 'integer', values: order.map((k) => series[k]!) },
    { type: 'bigint', values: order.map((k) => readings[k]!.time) },
    { type: 'double precision', values: order.map((k) => storable(readings[k]!.value)) },
  ]);
  try {
    await tx.attempt(() => tx.copyIn('reading (dwelling_id, series_id, time, value)', file));
  } catch (error) {
    // unique_violation: one is there already
    if (sqlState(error) === '23505') return false;
    throw error;
  }
  const hours = new Map<number, Set<number>>();
  for (const { dwellingId, time } of readings) {
    const hour = Math.floor(time / HOUR_MS);
    const others = hours.get(dwellingId);
    if (others === undefined) hours.set(dwellingId, new Set([hour]));
    else others.add(hour);
  }
  const stale = [...hours].flatMap(([dwellingId, own]) => [...own].map((hour) => [dwellingId, hour] as const));
  await tx.run(markStale('SELECT * FROM unnest($1::int[], $2::int[]) AS touched (dwelling_id, hour)'), [
    int4s(stale.map(([dwellingId]) => dwellingId)),
    int4s(stale.map(([, hour]) => hour)),
  ]);
  return true;
}

/** No zero below zero, which would read as another value. */
const storable = (value: number): number => value + 0;

/** All in one statement, as every one costs a way to the server and back. */
async function insertNew(
  tx: Transaction,
  readings: readonly IncomingReading[],
  series: readonly number[],
  order: readonly number[],
): Promise<Stored> {
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
    [
      int4s(order.map((k) => readings[k]!.dwellingId)),
      int4s(order.map((k) => series[k]!)),
      int8s(order.map((k) => readings[k]!.time)),
      float8s(order.map((k) => storable(readings[k]!.value))),
      readings.length,
    ],
  ))!;
  if (sent.count === readings.length) return { isStored: () => true, left: [] };
  // what was stored comes back in the order in which it was sent
  const [dwellingIds, seriesIds, times] = [sent.dwellings, sent.series, sent.times].map(numbersIn);
  const left = new Set<number>();
  let next = 0;
  for (const k of order) {
    const { dwellingId, time } = readings[k]!;
    const isNext = time === times![next] && series[k] === seriesIds![next] && dwellingId === dwellingIds![next];
    if (isNext) next++;
    else left.add(k);
  }
  // conflicts are kept in the order in which they came
  return { isStored: (place) => !left.has(place), left: [...left].sort((a, b) => a - b) };
}

/** Keeps aside what says another thing of an instant than the reading that is kept; gives how many. */
async function keepConflicts(
  tx: Transaction,
  { receivedAt, readings }: Batch,
  series: readonly number[],
  left: readonly number[],
): Promise<number> {
  if (left.length === 0) return 0;
  const keys = (places: readonly number[]): Buffer[] => [
    int4s(places.map((k) => readings[k]!.dwellingId)),
    int4s(places.map((k) => series[k]!)),
    int8s(places.map((k) => readings[k]!.time)),
  ];
  const sent = await tx.first<{ values: Buffer | null }>(
    `SELECT ${sendAll('value ORDER BY place')} AS values
     FROM unnest($1::int[], $2::int[], $3::bigint[]) WITH ORDINALITY AS other (dwelling_id, series_id, time, place)
     JOIN reading USING (dwelling_id, series_id, time)`,
    keys(left),
  );
  const kept = numbersIn(sent!.values);
  const other = left.filter((k, place) => readings[k]!.value !== kept[place]);
  if (other.length === 0) return 0;
  await tx.run(
    `INSERT INTO conflict (dwelling_id, series_id, time, value, received_at)
     SELECT dwelling_id, series_id, time, value, $5
     FROM unnest($1::int[], $2::int[], $3::bigint[], $4::float8[]) AS other (dwelling_id, series_id, time, value)
     ON CONFLICT DO NOTHING`,
    [...keys(other), float8s(other.map((k) => storable(readings[k]!.value))), receivedAt],
  );
  return other.length;
}

interface SeriesRow {
  readonly seriesId: number;
  readonly sensorId: number;
  readonly wire: string;
  readonly intervalSeconds: number | null;
  readonly times: Buffer;
  readonly values: Buffer;
}

/** @param only the series wanted; null: all of them */
async function readColumns(
  db: Connection,
  dwellingId: number,
  from: number,
  to: number,
  only: number | null,
): Promise<SeriesColumns[]> {
  const rows = await db.all<SeriesRow>(
    `SELECT series.id AS "seriesId", sensor_id AS "sensorId", quantity AS wire, interval_seconds AS "intervalSeconds",
       times, values
     FROM series CROSS JOIN LATERAL (
       SELECT ${sendAll('time')} AS times, ${sendAll('value')} AS values
       FROM (SELECT time, value FROM reading
             WHERE reading.dwelling_id = series.dwelling_id AND series_id = series.id AND time >= $2 AND time < $3
             ORDER BY time) AS ordered) AS columns
     WHERE series.dwelling_id = $1 AND series.id = coalesce($4, series.id) AND times IS NOT NULL ORDER BY series.id`,
    [dwellingId, spanBound('from', from), spanBound('to', to), only],
  );
  return rows.map(({ seriesId, sensorId, wire, intervalSeconds, times, values }) => ({
    seriesId,
    sensorId,
    quantity: quantityOfWire.get(wire)!,
    intervalSeconds,
    times: numbersIn(times),
    values: numbersIn(values),
  }));
}
