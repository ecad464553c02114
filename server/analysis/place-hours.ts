import type { HourRecord } from './hour-record.ts';
import { hourSettings } from './hours.ts';
import { HOUR_MS } from './vocabulary.ts';

/**
 * Hour records of one place as columns: entry `i` is the UTC hour that begins at `start + i * HOUR_MS`.
 * All columns have the same length. NaN means not known: no reading, or too little coverage to count. (Typed arrays are
 * the one place where missing is NaN; it becomes `null` at every border.)
 */
export interface PlaceHours {
  /** UTC milliseconds, a whole hour */
  readonly start: number;
  /** mean temperature, °C */
  readonly temperature: Float64Array;
  /** mean relative humidity over liquid water as reported and clamped to 100, % */
  readonly humidity: Float64Array;
  /** mean of the vapour pressures of paired readings, Pa; for a surface, of the room air it faces */
  readonly vapourPressure: Float64Array;
  /** mean surface relative humidity, %; for a surface from the room's vapour pressure, elsewhere from the place's own */
  readonly surfaceHumidity: Float64Array;
  /** mean and lowest dew-point margin, K */
  readonly margin: Float64Array;
  readonly marginLow: Float64Array;
  /** timber moisture content, % of dry mass; CO2, ppm */
  readonly timberMoisture: Float64Array;
  readonly co2: Float64Array;
}

/**
 * The hour records of one place as columns over `hours` hours from `start`. An hour with too little coverage, and one
 * without a record, is NaN.
 *
 * @param records of any places, in any order
 * @param start UTC milliseconds, a whole hour
 */
export function placeHoursOf(
  records: readonly HourRecord[],
  placeId: number,
  start: number,
  hours: number,
): PlaceHours {
  const column = (): Float64Array => new Float64Array(hours).fill(Number.NaN);
  const out = {
    start,
    temperature: column(),
    humidity: column(),
    vapourPressure: column(),
    surfaceHumidity: column(),
    margin: column(),
    marginLow: column(),
    timberMoisture: column(),
    co2: column(),
  };
  for (const record of records) {
    const i = (record.hour - start) / HOUR_MS;
    if (record.placeId !== placeId || !(i >= 0 && i < hours)) continue;
    const { coverageWanted } = hourSettings;
    if (record.temperatureCoverage >= coverageWanted) out.temperature[i] = record.temperatureMean ?? Number.NaN;
    if (record.humidityCoverage >= coverageWanted) out.humidity[i] = record.humidityMean ?? Number.NaN;
    out.vapourPressure[i] = record.vapourPressure ?? Number.NaN;
    out.surfaceHumidity[i] = record.surfaceHumidityMean ?? Number.NaN;
    out.margin[i] = record.marginMean ?? Number.NaN;
    out.marginLow[i] = record.marginMin ?? Number.NaN;
    out.timberMoisture[i] = record.timberMoisture ?? Number.NaN;
    out.co2[i] = record.co2 ?? Number.NaN;
  }
  return out;
}

/**
 * What hour records can be read out as, a column each; units as above, dew point in °C, factors without unit, battery in
 * V, coverage 0 to 1, risk and condensation hours 1 or 0.
 */
export const hourColumnNames = [
  'temperature',
  'temperatureMin',
  'temperatureMax',
  'humidity',
  'humidityMin',
  'humidityMax',
  'vapourPressure',
  'dewPoint',
  'margin',
  'marginMin',
  'surfaceHumidity',
  'surfaceHumidityMax',
  'factorOutdoor',
  'factorLoft',
  'riskHour',
  'condensationHour',
  'timberMoisture',
  'co2',
  'battery',
  'coverage',
] as const;

export type HourColumnName = (typeof hourColumnNames)[number];
