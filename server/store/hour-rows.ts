import type { HourRecord } from '../analysis/hour-record.ts';
import { hourSettings } from '../analysis/hours.ts';
import type { HourColumnName } from '../analysis/place-hours.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { spanBound, wholeHour } from './arguments.ts';
import type { StaleHour } from './port.ts';
import type { Columns } from './row-columns.ts';

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
export const hourFields = Object.keys(recordColumns) as (keyof HourRecord)[];
export const hourRecordColumns = hourFields.map((field) => recordColumns[field]);
const flags: readonly (keyof HourRecord)[] = ['riskHour', 'condensationHour'];
const hourAt = hourFields.indexOf('hour');

/** Columns of which the hours of a place are made. */
export const placeHourColumns = [
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
export const hourBounds = (from: number, to: number): [first: number, end: number] => [
  Math.ceil(spanBound('from', from) / HOUR_MS),
  Math.floor(spanBound('to', to) / HOUR_MS),
];

/** What stands in a column of the table. @throws RangeError for a number that is not finite */
export function toHourColumn(record: HourRecord, field: keyof HourRecord): number | null {
  const value = record[field];
  if (field === 'hour') return record.hour / HOUR_MS;
  if (typeof value === 'boolean') return value ? 1 : 0;
  if (value !== null && !Number.isFinite(value)) {
    throw new RangeError(`${field} of an hour record is ${value}; it must be a finite number or null`);
  }
  return value;
}

/** @param row the values of {@link hourRecordColumns} */
export function toHourRecord(row: (number | null)[]): HourRecord {
  const record: Record<string, number | boolean | null> = {};
  for (const [k, field] of hourFields.entries()) record[field] = row[k]!;
  record.hour = row[hourAt]! * HOUR_MS;
  for (const field of flags) if (record[field] !== null) record[field] = record[field] === 1;
  return record as unknown as HourRecord;
}

const covered = (coverage: string, column: string): string =>
  `CASE WHEN ${coverage} >= ${hourSettings.coverageWanted} THEN ${column} END`;

/** What each column is in the table of hour records. */
export const hourColumnExpressions: Record<HourColumnName, string> = {
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

/** @throws RangeError unless the hours are whole hours of the dwelling, and the records of these hours */
export function checkReplacement(
  dwellingId: number,
  hours: readonly StaleHour[],
  records: readonly HourRecord[],
): void {
  const replaced = new Set(hours.map(({ hour }) => wholeHour('hour', hour)));
  for (const other of hours.filter((hour) => hour.dwellingId !== dwellingId)) {
    throw new RangeError(`dwellingId of an hour is ${other.dwellingId}; it must be ${dwellingId}`);
  }
  for (const record of records) {
    if (!replaced.has(record.hour)) {
      throw new RangeError(`hour of a record is ${record.hour} ms; it must be one of the hours that are replaced`);
    }
  }
}
