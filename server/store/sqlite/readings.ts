import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { spanBound, wholeLimit } from '../arguments.ts';
import { checkBatch } from '../batch.ts';
import type { Batch, Conflict, IncomingReading, LastReading, ReadingStore, SeriesColumns } from '../port.ts';
import { quantityOfWire } from '../wire.ts';
import type { ArrivalKeeper } from './arrivals.ts';
import { type Connection, write } from './database.ts';
import { notKeptCounter, quarantineResolver, quarantineWriter } from './quarantine.ts';
import { requireDwelling } from './rows.ts';
import type { SeriesFinder } from './series-finder.ts';
import { staleMarks } from './stale.ts';
import { isThousandths, unitValue } from './value.ts';

/** Rows of one statement: more win little, and it is compiled at every start. */
const ROWS_TOGETHER = 50;

export function readingStore(db: Connection, series: SeriesFinder, arrivals: ArrivalKeeper): ReadingStore {
  const stale = staleMarks(db);
  const quarantine = quarantineWriter(db);
  const resolve = quarantineResolver(db);
  const countNotKept = notKeptCounter(db);
  const columns = 'INSERT INTO reading (dwelling_id, series_id, time, value)';
  const thousandthsRow = '(?, ?, ?, CAST(? AS INTEGER))';
  const insertThousandths = db.prepare(`${columns} VALUES ${thousandthsRow} ON CONFLICT DO NOTHING`);
  const insertTogether = db.prepare<[readonly number[]]>(
    `${columns} VALUES ${Array(ROWS_TOGETHER).fill(thousandthsRow).join(', ')}`,
  );
  const insertExact = db.prepare(`${columns} VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING`);
  const valueAt = db
    .prepare<[number, number, number], number>(
      `SELECT ${unitValue('value')} FROM reading WHERE dwelling_id = ? AND series_id = ? AND time = ?`,
    )
    .pluck();
  const conflictColumns = 'INSERT INTO conflict (dwelling_id, series_id, time, value, received_at)';
  const conflictThousandths = db.prepare(
    `${conflictColumns} VALUES (?, ?, ?, CAST(? AS INTEGER), ?) ON CONFLICT DO NOTHING`,
  );
  const conflictExact = db.prepare(`${conflictColumns} VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`);

  function appendReadings({ receivedAt, readings, importId = null }: Batch): {
    stored: number;
    repeated: number;
    conflicting: number;
  } {
    const outcome = { stored: 0, repeated: 0, conflicting: 0 };
    const arrived = arrivals.begin({ receivedAt, importId });
    const touched = new Map<number, Set<number>>();
    const together: number[] = [];
    const others: [seriesId: number, reading: IncomingReading][] = [];

    function stored(dwellingId: number, seriesId: number, time: number): void {
      outcome.stored++;
      arrived.stored(dwellingId, seriesId, time);
      const hour = Math.floor(time / HOUR_MS);
      const hours = touched.get(dwellingId);
      if (hours === undefined) touched.set(dwellingId, new Set([hour]));
      else hours.add(hour);
    }

    for (const reading of readings) {
      const { dwellingId, time, value } = reading;
      const of = series.of(reading);
      if (time > of.newest && isThousandths(value)) {
        // nothing can be there yet
        of.newest = time;
        together.push(dwellingId, of.id, time, Math.round(value * 1000));
        stored(dwellingId, of.id, time);
        if (together.length === 4 * ROWS_TOGETHER) {
          insertTogether.run(together);
          together.length = 0;
        }
      } else {
        others.push([of.id, reading]);
        of.newest = Math.max(of.newest, time);
      }
    }
    for (let k = 0; k < together.length; k += 4) {
      insertThousandths.run(together[k], together[k + 1], together[k + 2], together[k + 3]);
    }
    // of two for one instant the first is kept: what came before one of these is stored by now
    for (const [seriesId, { dwellingId, time, value }] of others) {
      const thousandths = isThousandths(value);
      const { changes } = thousandths
        ? insertThousandths.run(dwellingId, seriesId, time, Math.round(value * 1000))
        : insertExact.run(dwellingId, seriesId, time, value);
      if (changes === 1) {
        stored(dwellingId, seriesId, time);
      } else if (valueAt.get(dwellingId, seriesId, time) === value) {
        outcome.repeated++;
      } else {
        outcome.conflicting++;
        if (thousandths) conflictThousandths.run(dwellingId, seriesId, time, Math.round(value * 1000), receivedAt);
        else conflictExact.run(dwellingId, seriesId, time, value, receivedAt);
      }
    }
    arrived.end();
    for (const [dwellingId, hours] of touched) stale.markHours(dwellingId, hours);
    return outcome;
  }

  return {
    async append(batch) {
      checkBatch(batch);
      const { readings, quarantined, resolved = [], notKept = [] } = batch;
      if ([readings, quarantined, resolved, notKept].every((part) => part.length === 0)) {
        return { stored: 0, repeated: 0, conflicting: 0 };
      }
      try {
        return write(db, () => {
          series.refresh();
          for (const message of quarantined) quarantine(message);
          for (const message of resolved) resolve(message);
          for (const counted of notKept) countNotKept(counted);
          return appendReadings(batch);
        });
      } catch (error) {
        // ids given out in a transaction that was undone are not there
        series.forget();
        arrivals.forget();
        throw error;
      }
    },

    async seriesColumns(dwellingId, from, to) {
      requireDwelling(db, dwellingId);
      return readColumns(db, dwellingId, spanBound('from', from), spanBound('to', to), null);
    },

    async oneSeriesColumns(dwellingId, seriesId, from, to) {
      requireDwelling(db, dwellingId);
      return readColumns(db, dwellingId, spanBound('from', from), spanBound('to', to), seriesId)[0] ?? null;
    },

    async readings(dwellingId, seriesId, from, to, limit) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number, number, number, number], LastReading>(
          `SELECT series_id AS "seriesId", time, ${unitValue('value')} AS value FROM reading
           WHERE dwelling_id = ? AND series_id = ? AND time >= ? AND time < ? ORDER BY time LIMIT ?`,
        )
        .all(dwellingId, seriesId, spanBound('from', from), spanBound('to', to), wholeLimit(limit));
    },

    async lastReadings(dwellingId) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number], LastReading>(
          `SELECT series.id AS "seriesId", reading.time, ${unitValue('reading.value')} AS value
           FROM series JOIN reading ON reading.dwelling_id = series.dwelling_id AND reading.series_id = series.id
             AND reading.time = (SELECT max(time) FROM reading AS last
                                 WHERE last.dwelling_id = series.dwelling_id AND last.series_id = series.id)
           WHERE series.dwelling_id = ? ORDER BY series.id`,
        )
        .all(dwellingId);
    },

    async countReadings(dwellingId) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number], number>('SELECT count(*) FROM reading WHERE dwelling_id = ?')
        .pluck()
        .get(dwellingId)!;
    },

    async conflicts(dwellingId, limit) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number], Conflict>(
          `SELECT conflict.series_id AS "seriesId", conflict.time, ${unitValue('reading.value')} AS "keptValue",
             ${unitValue('conflict.value')} AS "otherValue", conflict.received_at AS "receivedAt"
           FROM conflict JOIN reading USING (dwelling_id, series_id, time)
           WHERE conflict.dwelling_id = ? ORDER BY conflict.received_at DESC, conflict.series_id, conflict.time, "otherValue" LIMIT ?`,
        )
        .all(dwellingId, wholeLimit(limit));
    },
  };
}

interface SeriesRow {
  readonly id: number;
  readonly sensorId: number;
  readonly wire: string;
  readonly intervalSeconds: number | null;
}

/** @param only the series wanted; null: all of them */
function readColumns(
  db: Connection,
  dwellingId: number,
  from: number,
  to: number,
  only: number | null,
): SeriesColumns[] {
  const all = db
    .prepare<[number, number | null], SeriesRow>(
      `SELECT id, sensor_id AS "sensorId", quantity AS wire, interval_seconds AS "intervalSeconds"
       FROM series WHERE dwelling_id = ? AND id = coalesce(?, id) ORDER BY id`,
    )
    .all(dwellingId, only);
  // One string a column is far cheaper to hand over than one object a row: JSON.parse outruns the engine's row by row.
  const read = db
    .prepare<[number, number, number, number, number], [times: string, thousandths: string, exact: number]>(
      `SELECT json_group_array(time - CAST(? AS INTEGER)),
         json_group_array(CASE typeof(value) WHEN 'integer' THEN value END),
         count(CASE typeof(value) WHEN 'real' THEN 1 END)
       FROM (SELECT time, value FROM reading
             WHERE dwelling_id = ? AND series_id = ? AND time >= ? AND time < ? ORDER BY time)`,
    )
    .raw();
  const readExact = db
    .prepare<[number, number, number, number], number>(
      `SELECT value FROM reading
       WHERE dwelling_id = ? AND series_id = ? AND time >= ? AND time < ? AND typeof(value) = 'real' ORDER BY time`,
    )
    .pluck();

  return all.flatMap(({ id, sensorId, wire, intervalSeconds }) => {
    const [timesText, thousandthsText, exactCount] = read.get(from, dwellingId, id, from, to)!;
    const offsets: number[] = JSON.parse(timesText);
    if (offsets.length === 0) return [];
    const thousandths: (number | null)[] = JSON.parse(thousandthsText);
    const exact = exactCount > 0 ? readExact.all(dwellingId, id, from, to) : [];
    const times = new Float64Array(offsets.length);
    const values = new Float64Array(offsets.length);
    for (let k = 0, next = 0; k < offsets.length; k++) {
      times[k] = from + offsets[k]!;
      const whole = thousandths[k]!;
      values[k] = whole === null ? exact[next++]! : whole / 1000;
    }
    return [{ seriesId: id, sensorId, quantity: quantityOfWire.get(wire)!, intervalSeconds, times, values }];
  });
}
