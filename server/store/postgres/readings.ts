import { spanBound, wholeLimit, wholeTime } from '../arguments.ts';
import { DAY_MS, dayOf } from '../canonical.ts';
import type { AppendOutcome, Batch, Conflict, LastReading, ReadingStore, SeriesColumns } from '../port.ts';
import { quantityOfWire } from '../wire.ts';
import { numbersIn, sendAll } from './arrays.ts';
import { type Arrivals, isOfItsDay, readArrivals, recordArrival } from './arrivals.ts';
import { type BatchColumns, checkedColumns } from './batch-columns.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { insertReadings, keepConflicts } from './insert-readings.ts';
import { createMemory } from './memory.ts';
import type { PartitionKeeper } from './partitions.ts';
import { countNotKept, keepQuarantined, resolveQuarantined } from './quarantine.ts';
import { requireDwelling } from './rows.ts';
import { makeSeries, put, readSeries, type SeriesOfDwelling } from './series-finder.ts';
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
    { dwellingIds, sensorKeys, quantities }: BatchColumns,
    reporting: Map<number, Reporting>,
    changed: Set<number>,
  ): Promise<Float64Array> {
    const unknown: number[] = [];
    for (const dwellingId of tx.turns.keys()) {
      const remembered = memory.recall(tx, dwellingId);
      if (remembered === undefined) unknown.push(dwellingId);
      else reporting.set(dwellingId, remembered);
    }
    for (const [dwellingId, series] of await readSeries(tx, unknown)) {
      reporting.set(dwellingId, { series, arrivals: null });
    }
    const ids = new Float64Array(dwellingIds.length);
    for (let k = 0; k < ids.length; k++) {
      const dwellingId = dwellingIds[k]!;
      const sensorKey = sensorKeys[k]!;
      const quantity = quantities[k]!;
      let id = reporting.get(dwellingId)!.series.get(sensorKey)?.get(quantity);
      if (id === undefined) {
        id = await makeSeries(tx, dwellingId, sensorKey, quantity);
        // what was remembered is left as it was, should this transaction be undone
        if (!changed.has(dwellingId)) {
          const { series, arrivals } = reporting.get(dwellingId)!;
          const copy = new Map([...series].map(([key, ofSensor]) => [key, new Map(ofSensor)]));
          reporting.set(dwellingId, { series: copy, arrivals });
        }
        changed.add(dwellingId);
        put(reporting.get(dwellingId)!.series, sensorKey, quantity, id);
      }
      ids[k] = id;
    }
    return ids;
  }

  async function appendReadings(
    tx: Transaction,
    { receivedAt, importId = null }: Batch,
    columns: BatchColumns,
  ): Promise<AppendOutcome> {
    const reporting = new Map<number, Reporting>();
    const changed = new Set<number>();
    const rows = { ...columns, seriesIds: await findSeries(tx, columns, reporting, changed) };
    const { dwellingIds, seriesIds, times } = rows;
    const { isStored, left } = await insertReadings(tx, rows);
    const conflicting = await keepConflicts(tx, rows, left, receivedAt);

    const receivedDay = dayOf(receivedAt);
    const unknown = new Set<number>();
    for (const [k, dwellingId] of dwellingIds.entries()) {
      if (isStored(k) && reporting.get(dwellingId)!.arrivals === null) unknown.add(dwellingId);
    }
    for (const [dwellingId, arrivals] of await readArrivals(tx, [...unknown], receivedDay)) {
      reporting.set(dwellingId, { ...reporting.get(dwellingId)!, arrivals });
    }

    const late = new Map<number, Map<number, number[]>>();
    for (const [k, dwellingId] of dwellingIds.entries()) {
      if (!isStored(k)) continue;
      const seriesId = seriesIds[k]!;
      const time = times[k]!;
      const arrivals = reporting.get(dwellingId)!.arrivals!;
      if (importId === null && isOfItsDay(arrivals, seriesId, time, receivedDay)) continue;
      const bySeries = late.get(dwellingId) ?? new Map<number, number[]>();
      late.set(dwellingId, bySeries);
      const ofSeries = bySeries.get(seriesId);
      if (ofSeries === undefined) bySeries.set(seriesId, [time]);
      else ofSeries.push(time);
    }
    for (const [dwellingId, bySeries] of late) {
      const { series: known, arrivals } = reporting.get(dwellingId)!;
      const highest = new Map(arrivals!.highest);
      const day = Math.max(receivedDay, arrivals!.openDay);
      for (const [seriesId, ofSeries] of bySeries) {
        await recordArrival(tx, dwellingId, seriesId, ofSeries, { day, importId });
        highest.set(
          seriesId,
          ofSeries.reduce((most, time) => Math.max(most, time), highest.get(seriesId) ?? 0),
        );
      }
      reporting.set(dwellingId, { series: known, arrivals: { ...arrivals!, highest } });
      changed.add(dwellingId);
    }

    const versions = await changeVersions(tx, [...changed]);
    for (const [dwellingId, what] of reporting) {
      memory.remember(tx, dwellingId, versions.get(dwellingId) ?? tx.turns.get(dwellingId)!, what);
    }
    const stored = times.length - left.length;
    return { stored, repeated: left.length - conflicting, conflicting };
  }

  return {
    async append(batch) {
      const { receivedAt, readings, quarantined, resolved = [], notKept = [] } = batch;
      wholeTime('receivedAt', receivedAt);
      const columns = checkedColumns(readings);
      if ([readings, quarantined, resolved, notKept].every((part) => part.length === 0)) return nothing;
      const days = new Set(columns.times.map((time) => Math.floor(time / DAY_MS)));
      return partitions.withPartitions(
        'reading',
        [...days].map((day) => day * DAY_MS),
        () =>
          db.inTurns(columns.dwellingIds, async (tx) => {
            await keepQuarantined(tx, quarantined);
            await resolveQuarantined(tx, resolved);
            await countNotKept(tx, notKept);
            return readings.length === 0 ? nothing : appendReadings(tx, batch, columns);
          }),
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
