import { type HourColumnName, hourColumnNames } from '../../analysis/place-hours.ts';
import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { oneOf, spanBound, wholeLimit } from '../arguments.ts';
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
import { type Connection, write, writeDerived } from './database.ts';
import { leaveOutDoubtful } from './doubts.ts';
import { hourChanges } from './notices.ts';
import { requireDwelling } from './rows.ts';
import { staleMarks } from './stale.ts';

export function hourStore(db: Connection): HourStore {
  const stale = staleMarks(db);
  const changed = hourChanges(db);
  const insert = db.prepare(
    `INSERT INTO hour_record (dwelling_id, ${hourRecordColumns.join(', ')}) VALUES (?, ${hourRecordColumns.map(() => '?').join(', ')})`,
  );
  const clear = db.prepare(
    `DELETE FROM hour_record WHERE dwelling_id = $dwelling AND hour = $hour
       AND place_id IN (SELECT id FROM place WHERE dwelling_id = $dwelling)`,
  );
  const unmark = db.prepare('DELETE FROM stale_hour WHERE dwelling_id = ? AND hour = ? AND mark = ?');

  return {
    async staleDwellings() {
      return db
        .prepare<[], number>(
          `SELECT id FROM dwelling
           WHERE EXISTS (SELECT 1 FROM stale_hour WHERE stale_hour.dwelling_id = dwelling.id) ORDER BY id`,
        )
        .pluck()
        .all();
    },

    async staleHours(dwellingId, from, limit) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number, number], StaleHour>(
          `SELECT dwelling_id AS "dwellingId", hour * ${HOUR_MS} AS hour, mark FROM stale_hour
           WHERE dwelling_id = ? AND hour >= ? ORDER BY hour LIMIT ?`,
        )
        .all(dwellingId, Math.ceil(spanBound('from', from) / HOUR_MS), wholeLimit(limit));
    },

    async countStaleHours() {
      return db.prepare<[], number>('SELECT count(*) FROM stale_hour').pluck().get()!;
    },

    async replaceHours(dwellingId, hours, records) {
      checkReplacement(dwellingId, hours, records);
      const replaced = new Set(hours.map(({ hour }) => hour));
      writeDerived(db, () => {
        requireDwelling(db, dwellingId);
        for (const hour of replaced) clear.run({ dwelling: dwellingId, hour: hour / HOUR_MS });
        for (const record of records) insert.run(dwellingId, ...hourFields.map((field) => toHourColumn(record, field)));
        for (const { hour, mark } of hours) unmark.run(dwellingId, hour / HOUR_MS, mark);
        if (replaced.size > 0) changed(dwellingId, Math.min(...replaced));
      });
    },

    async discardHours(dwellingId) {
      write(db, () => {
        requireDwelling(db, dwellingId);
        db.prepare('DELETE FROM hour_record WHERE dwelling_id = ?').run(dwellingId);
        const series = db
          .prepare<[number], number>('SELECT id FROM series WHERE dwelling_id = ?')
          .pluck()
          .all(dwellingId);
        stale.markReadings(dwellingId, series, 0, Number.MAX_SAFE_INTEGER);
      });
    },

    async hourRecords(dwellingId, placeId, from, to) {
      requireDwelling(db, dwellingId);
      const [first, end] = hourBounds(from, to);
      return db
        .prepare<[number, number, number, number], (number | null)[]>(
          `SELECT ${hourRecordColumns.join(', ')} FROM hour_record
           WHERE dwelling_id = ? AND place_id = ? AND hour >= ? AND hour < ? ORDER BY hour`,
        )
        .raw()
        .all(dwellingId, placeId, first, end)
        .map(toHourRecord);
    },

    async hourColumns(dwellingId, placeId, from, to, names) {
      requireDwelling(db, dwellingId);
      for (const name of names) oneOf('name', name, hourColumnNames);
      return readHourColumns(db, dwellingId, placeId, hourBounds(from, to), names);
    },

    async placeHours(dwellingId, placeId, from, to) {
      requireDwelling(db, dwellingId);
      const bounds = hourBounds(from, to);
      const { marginMin, ...columns } = readHourColumns(db, dwellingId, placeId, bounds, placeHourColumns);
      return { start: bounds[0] * HOUR_MS, marginLow: marginMin, ...columns };
    },

    async hourSpan(dwellingId) {
      requireDwelling(db, dwellingId);
      const { first, last } = db
        .prepare<[number], { first: number | null; last: number | null }>(
          `SELECT min((SELECT min(hour) FROM hour_record
                       WHERE hour_record.dwelling_id = place.dwelling_id AND place_id = place.id)) AS first,
             max((SELECT max(hour) FROM hour_record
                  WHERE hour_record.dwelling_id = place.dwelling_id AND place_id = place.id)) AS last
           FROM place WHERE dwelling_id = ?`,
        )
        .get(dwellingId)!;
      return first === null || last === null ? null : { first: first * HOUR_MS, last: last * HOUR_MS };
    },
  };
}

function readHourColumns<Name extends HourColumnName>(
  db: Connection,
  dwellingId: number,
  placeId: number,
  [first, end]: readonly [number, number],
  names: readonly Name[],
): Record<Name, Float64Array> {
  const columns = names.map(() => new Float64Array(Math.max(0, end - first)).fill(Number.NaN));
  const rows = db
    .prepare<[number, number, number, number], [number, ...(number | null)[]]>(
      `SELECT ${['hour', ...names.map((name) => hourColumnExpressions[name])].join(', ')}
       FROM hour_record WHERE dwelling_id = ? AND place_id = ? AND hour >= ? AND hour < ?`,
    )
    .raw()
    .all(dwellingId, placeId, first, end);
  for (const row of rows) {
    const i = row[0] - first;
    for (let k = 0; k < columns.length; k++) columns[k]![i] = row[k + 1] ?? Number.NaN;
  }
  leaveOutDoubtful(db, dwellingId, placeId, [first, end], names, columns);
  return Object.fromEntries(names.map((name, k) => [name, columns[k]!])) as Record<Name, Float64Array>;
}
