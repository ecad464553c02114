import type { HourRecord } from '../../analysis/hour-record.ts';
import { type HourColumnName, hourColumnNames } from '../../analysis/place-hours.ts';
import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { oneOf, spanBound, wholeLimit } from '../arguments.ts';
import { type DoubtedPlace, doubtsOn, extremeColumns, noExtremes } from '../doubts.ts';
import {
  checkReplacement,
  hourBounds,
  hourColumnExpressions,
  hourFields,
  hourRecordColumns,
  placeHourColumns,
  toHourColumn,
  toHourRecord,
} from '../hour-rows.ts';
import type { HourStore, StaleHour } from '../port.ts';
import { float8s, int4s, int8s, numbersIn, sendAll } from './arrays.ts';
import type { Connection, Database } from './database.ts';
import { noteHourChanges } from './notices.ts';
import type { PartitionKeeper } from './partitions.ts';
import { requireDwelling } from './rows.ts';
import { markReadings } from './stale.ts';

/** Columns whose type is not a number with a fraction. */
const whole: readonly (keyof HourRecord)[] = [
  'placeId',
  'hour',
  'temperatureCount',
  'humidityCount',
  'humidityClamped',
  'riskHour',
  'condensationHour',
];

const insertRecords = `INSERT INTO hour_record (dwelling_id, ${hourRecordColumns.join(', ')})
  SELECT $1, ${hourFields.map((field, k) => (whole.includes(field) ? `column_${k}::int` : `column_${k}`)).join(', ')}
  FROM unnest(${hourFields.map((_, k) => `$${k + 2}::float8[]`).join(', ')})
    AS record (${hourFields.map((_, k) => `column_${k}`).join(', ')})`;

export function hourStore(db: Database, partitions: PartitionKeeper): HourStore {
  return {
    async staleDwellings() {
      const rows = await db.all<{ id: number }>(
        `SELECT id FROM dwelling
         WHERE EXISTS (SELECT 1 FROM stale_hour WHERE stale_hour.dwelling_id = dwelling.id) ORDER BY id`,
      );
      return rows.map(({ id }) => id);
    },

    async staleHours(dwellingId, from, limit) {
      await requireDwelling(db, dwellingId);
      return db.all<StaleHour>(
        `SELECT dwelling_id AS "dwellingId", hour * ${HOUR_MS}::bigint AS hour, mark FROM stale_hour
         WHERE dwelling_id = $1 AND hour >= $2 ORDER BY stale_hour.hour LIMIT $3`,
        [dwellingId, Math.ceil(spanBound('from', from) / HOUR_MS), wholeLimit(limit)],
      );
    },

    async countStaleHours() {
      const { count } = (await db.first<{ count: number }>('SELECT count(*) AS count FROM stale_hour'))!;
      return count;
    },

    async replaceHours(dwellingId, hours, records) {
      checkReplacement(dwellingId, hours, records);
      const replaced = hours.map(({ hour }) => hour / HOUR_MS);
      const columns = hourFields.map((field) =>
        float8s(records.map((record) => toHourColumn(record, field) ?? Number.NaN)),
      );
      await partitions.withPartitions(
        'hour_record',
        records.map(({ hour }) => hour),
        () =>
          db.inTurn(dwellingId, async (tx) => {
            if (replaced.length === 0) return;
            // worked out again where it is lost: this commit waits for no disk, and undone the hours are stale as before
            await tx.run('SET LOCAL synchronous_commit = off');
            await tx.run(
              `DELETE FROM hour_record WHERE dwelling_id = $1 AND hour = ANY ($2::int[])
                 AND place_id IN (SELECT id FROM place WHERE dwelling_id = $1)
                 AND hour BETWEEN $3 AND $4`,
              [
                dwellingId,
                int4s(replaced),
                // spares the partitions outside
                replaced.reduce((a, b) => Math.min(a, b)),
                replaced.reduce((a, b) => Math.max(a, b)),
              ],
            );
            if (records.length > 0) await tx.run(insertRecords, [dwellingId, ...columns]);
            await tx.run(
              `DELETE FROM stale_hour USING unnest($2::int[], $3::bigint[]) AS done (hour, mark)
               WHERE stale_hour.dwelling_id = $1 AND stale_hour.hour = done.hour AND stale_hour.mark = done.mark`,
              [dwellingId, int4s(replaced), int8s(hours.map(({ mark }) => mark))],
            );
            await noteHourChanges(tx, dwellingId, replaced.reduce((a, b) => Math.min(a, b)) * HOUR_MS);
          }),
      );
    },

    async discardHours(dwellingId) {
      await db.inTurn(dwellingId, async (tx) => {
        await tx.run('DELETE FROM hour_record WHERE dwelling_id = $1', [dwellingId]);
        const series = await tx.all<{ id: number }>('SELECT id FROM series WHERE dwelling_id = $1', [dwellingId]);
        const ids = series.map(({ id }) => id);
        await markReadings(tx, dwellingId, ids, 0, Number.MAX_SAFE_INTEGER);
      });
    },

    async hourRecords(dwellingId, placeId, from, to) {
      await requireDwelling(db, dwellingId);
      const [first, end] = hourBounds(from, to);
      const rows = await db.all<Record<string, number | null>>(
        `SELECT ${hourRecordColumns.join(', ')} FROM hour_record
         WHERE dwelling_id = $1 AND place_id = $2 AND hour >= $3 AND hour < $4 ORDER BY hour`,
        [dwellingId, placeId, first, end],
      );
      return rows.map((row) => toHourRecord(hourRecordColumns.map((column) => row[column]!)));
    },

    async hourColumns(dwellingId, placeId, from, to, names) {
      for (const name of names) oneOf('name', name, hourColumnNames);
      return readHourColumns(db, dwellingId, placeId, hourBounds(from, to), names);
    },

    async placeHours(dwellingId, placeId, from, to) {
      const bounds = hourBounds(from, to);
      const { marginMin, ...columns } = await readHourColumns(db, dwellingId, placeId, bounds, placeHourColumns);
      return { start: bounds[0] * HOUR_MS, marginLow: marginMin, ...columns };
    },

    async hourSpan(dwellingId) {
      await requireDwelling(db, dwellingId);
      const end = (way: 'ASC' | 'DESC'): string =>
        `LATERAL (SELECT hour FROM hour_record WHERE hour_record.dwelling_id = place.dwelling_id
           AND place_id = place.id ORDER BY hour ${way} LIMIT 1)`;
      const { first, last } = (await db.first<{ first: number | null; last: number | null }>(
        `SELECT min(earliest.hour) AS first, max(latest.hour) AS last
         FROM place CROSS JOIN ${end('ASC')} AS earliest CROSS JOIN ${end('DESC')} AS latest
         WHERE place.dwelling_id = $1`,
        [dwellingId],
      ))!;
      return first === null || last === null ? null : { first: first * HOUR_MS, last: last * HOUR_MS };
    },
  };
}

/**
 * Reads columns of the hour records of a place and lays each out over every hour of a span; an entry of which there is no
 * record is left as it is.
 *
 * @param bounds first hour and the one after the last, counted from 1970
 * @param into a column for each expression
 */
async function readInto(
  db: Connection,
  dwellingId: number,
  placeId: number,
  [first, end]: readonly [number, number],
  expressions: readonly string[],
  into: readonly Float64Array[],
): Promise<void> {
  const sent = await db.first<Record<string, Buffer | null>>(
    `SELECT ${['hour', ...expressions].map((each, k) => `${sendAll(each)} AS column_${k}`).join(', ')}
     FROM hour_record WHERE dwelling_id = $1 AND place_id = $2 AND hour >= $3 AND hour < $4`,
    [dwellingId, placeId, first, end],
  );
  const [hours, ...columns] = Object.values(sent!).map(numbersIn);
  for (const [k, column] of columns.entries()) {
    const target = into[k]!;
    for (let row = 0; row < column.length; row++) target[hours![row]! - first] = column[row]!;
  }
}

async function readHourColumns<Name extends HourColumnName>(
  db: Connection,
  dwellingId: number,
  placeId: number,
  [first, end]: readonly [number, number],
  names: readonly Name[],
): Promise<Record<Name, Float64Array>> {
  await requireDwelling(db, dwellingId);
  const places = await db.all<DoubtedPlace>(
    'SELECT id, kind, faces_place_id AS "facesPlaceId" FROM place WHERE dwelling_id = $1 ORDER BY id',
    [dwellingId],
  );
  const columns = names.map(() => new Float64Array(Math.max(0, end - first)).fill(Number.NaN));
  const expressions = names.map((name) => hourColumnExpressions[name]);
  const doubts = doubtsOn(places, placeId, names);
  const extremes = new Map(doubts.places.map(({ id }) => [id, noExtremes(first, end)]));
  // the server works on all of them at once
  await Promise.all([
    readInto(db, dwellingId, placeId, [first, end], expressions, columns),
    ...[...extremes].map(([id, { start, columns: into }]) =>
      readInto(db, dwellingId, id, [start, start + into[0]!.length], extremeColumns, into),
    ),
  ]);
  doubts.leaveOut(columns, (id) => extremes.get(id)!.columns);
  return Object.fromEntries(names.map((name, k) => [name, columns[k]!])) as Record<Name, Float64Array>;
}
