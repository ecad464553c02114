import type { HourRecord } from '../../analysis/hour-record.ts';
import { hourSettings } from '../../analysis/hours.ts';
import { type HourColumnName, hourColumnNames } from '../../analysis/place-hours.ts';
import { HOUR_MS } from '../../analysis/vocabulary.ts';
import type { HourStore, StaleHour } from '../port.ts';
import { oneOf, spanBound, wholeHour, wholeLimit } from './arguments.ts';
import { type Connection, write } from './database.ts';
import { leaveOutDoubtful } from './doubts.ts';
import { hourChanges } from './notices.ts';
import { type Columns, requireDwelling } from './rows.ts';
import { staleMarks } from './stale.ts';

const recordColumns: Columns<HourRecord> = {
  placeId: 'place_id',
  hour: 'hour',
  temperatureMean: 'temperature_mean_c',
  temperatureMin: 'temperature_min_c',
  temperatureMax: 'temperature_max_c',
  temperatureCount: 'temperature_count',
  temperatureCoverage: 'temperature_coverage',
  humidityMean: 'humidity_mean_pct',
  humidityMin: 'humidity_min_pct',
  humidityMax: 'humidity_max_pct',
  humidityCount: 'humidity_count',
  humidityCoverage: 'humidity_coverage',
  humidityClamped: 'humidity_clamped',
  vapourPressure: 'vapour_pressure_pa',
  dewPoint: 'dew_point_c',
  marginMean: 'margin_mean_k',
  marginMin: 'margin_min_k',
  surfaceHumidityMean: 'surface_humidity_mean_pct',
  surfaceHumidityMax: 'surface_humidity_max_pct',
  factorOutdoor: 'factor_outdoor',
  factorLoft: 'factor_loft',
  riskHour: 'risk_hour',
  condensationHour: 'condensation_hour',
  timberMoisture: 'timber_moisture_pct',
  co2: 'co2_ppm',
  battery: 'battery_v',
};
const fields = Object.keys(recordColumns) as (keyof HourRecord)[];
const columnNames = fields.map((field) => recordColumns[field]);
const flags: readonly (keyof HourRecord)[] = ['riskHour', 'condensationHour'];

const placeColumns = [
  'temperature',
  'humidity',
  'vapourPressure',
  'surfaceHumidity',
  'margin',
  'marginMin',
  'timberMoisture',
  'co2',
] as const;

/** Whole hours of `[from, to)`, counted from 1970: the first inside, and the first after. */
const hourBounds = (from: number, to: number): [first: number, end: number] => [
  Math.ceil(spanBound('from', from) / HOUR_MS),
  Math.floor(spanBound('to', to) / HOUR_MS),
];

export function hourStore(db: Connection): HourStore {
  const stale = staleMarks(db);
  const changed = hourChanges(db);
  const insert = db.prepare(
    `INSERT INTO hour_record (dwelling_id, ${columnNames.join(', ')}) VALUES (?, ${columnNames.map(() => '?').join(', ')})`,
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
      const replaced = new Set(hours.map(({ hour }) => wholeHour('hour', hour)));
      for (const other of hours.filter((hour) => hour.dwellingId !== dwellingId)) {
        throw new RangeError(`dwellingId of an hour is ${other.dwellingId}; it must be ${dwellingId}`);
      }
      for (const record of records) {
        if (!replaced.has(record.hour)) {
          throw new RangeError(`hour of a record is ${record.hour} ms; it must be one of the hours that are replaced`);
        }
      }
      write(db, () => {
        requireDwelling(db, dwellingId);
        for (const hour of replaced) clear.run({ dwelling: dwellingId, hour: hour / HOUR_MS });
        for (const record of records) insert.run(dwellingId, ...fields.map((field) => toColumn(record, field)));
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
          `SELECT ${columnNames.join(', ')} FROM hour_record
           WHERE dwelling_id = ? AND place_id = ? AND hour >= ? AND hour < ? ORDER BY hour`,
        )
        .raw()
        .all(dwellingId, placeId, first, end)
        .map(toRecord);
    },

    async hourColumns(dwellingId, placeId, from, to, names) {
      requireDwelling(db, dwellingId);
      for (const name of names) oneOf('name', name, hourColumnNames);
      return readHourColumns(db, dwellingId, placeId, hourBounds(from, to), names);
    },

    async placeHours(dwellingId, placeId, from, to) {
      requireDwelling(db, dwellingId);
      const bounds = hourBounds(from, to);
      const { marginMin, ...columns } = readHourColumns(db, dwellingId, placeId, bounds, placeColumns);
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

function toColumn(record: HourRecord, field: keyof HourRecord): number | null {
  const value = record[field];
  if (field === 'hour') return record.hour / HOUR_MS;
  if (typeof value === 'boolean') return value ? 1 : 0;
  if (value !== null && !Number.isFinite(value)) {
    throw new RangeError(`${field} of an hour record is ${value}; it must be a finite number or null`);
  }
  return value;
}

function toRecord(row: (number | null)[]): HourRecord {
  const record = Object.fromEntries(
    fields.map((field, k) => {
      const value = row[k]!;
      if (field === 'hour') return [field, value * HOUR_MS];
      return [field, flags.includes(field) && value !== null ? value === 1 : value];
    }),
  );
  return record as unknown as HourRecord;
}

const covered = (coverage: string, column: string): string =>
  `CASE WHEN ${coverage} >= ${hourSettings.coverageWanted} THEN ${column} END`;

/** What each column is in the table of hour records. */
const columnExpressions: Record<HourColumnName, string> = {
  temperature: covered('temperature_coverage', 'temperature_mean_c'),
  temperatureMin: covered('temperature_coverage', 'temperature_min_c'),
  temperatureMax: covered('temperature_coverage', 'temperature_max_c'),
  humidity: covered('humidity_coverage', 'humidity_mean_pct'),
  humidityMin: covered('humidity_coverage', 'humidity_min_pct'),
  humidityMax: covered('humidity_coverage', 'humidity_max_pct'),
  vapourPressure: 'vapour_pressure_pa',
  dewPoint: 'dew_point_c',
  margin: 'margin_mean_k',
  marginMin: 'margin_min_k',
  surfaceHumidity: 'surface_humidity_mean_pct',
  surfaceHumidityMax: 'surface_humidity_max_pct',
  factorOutdoor: 'factor_outdoor',
  factorLoft: 'factor_loft',
  riskHour: 'risk_hour',
  condensationHour: 'condensation_hour',
  timberMoisture: 'timber_moisture_pct',
  co2: 'co2_ppm',
  battery: 'battery_v',
  coverage: 'temperature_coverage',
};

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
      `SELECT ${['hour', ...names.map((name) => columnExpressions[name])].join(', ')}
       FROM hour_record WHERE dwelling_id = ? AND place_id = ? AND hour >= ? AND hour < ?`,
    )
    .raw()
    .iterate(dwellingId, placeId, first, end);
  for (const row of rows) {
    const i = row[0] - first;
    for (let k = 0; k < columns.length; k++) columns[k]![i] = row[k + 1] ?? Number.NaN;
  }
  leaveOutDoubtful(db, dwellingId, placeId, [first, end], names, columns);
  return Object.fromEntries(names.map((name, k) => [name, columns[k]!])) as Record<Name, Float64Array>;
}
