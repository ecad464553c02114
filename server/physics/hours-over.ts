import { sameLength } from './range.ts';

/** Whether an hour exactly at a limit counts. */
export type Comparison = 'at-or-above' | 'above';

/** A count of hours, with the hours that could not be judged beside it and the limit it was judged by. */
export interface HoursCount {
  readonly hours: number;
  readonly knownHours: number;
  readonly unknownHours: number;
  readonly limit: number;
  readonly comparison: Comparison;
}

/**
 * Hours in which a quantity is over a limit. Hours that are not known (NaN) count as neither.
 *
 * @param values one value an hour; NaN where not known
 * @param limit in the unit of the values
 */
export function hoursOver(values: Float64Array, limit: number, comparison: Comparison = 'at-or-above'): HoursCount {
  let hours = 0;
  let known = 0;
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i]!;
    if (Number.isNaN(value)) continue;
    known += 1;
    if (value > limit || (value === limit && comparison === 'at-or-above')) hours += 1;
  }
  return { hours, knownHours: known, unknownHours: values.length - known, limit, comparison };
}

/** The usual limit of surface humidity for mould, %. @source ISO 13788:2012, 5 (there a monthly mean) */
export const RISK_HUMIDITY = 80;

/**
 * Whether mould may grow at a surface in an hour: humidity at or over the limit, above 0 °C. NaN is no.
 *
 * @param surfaceHumidity %
 * @param surfaceTemperature °C
 */
export const atRisk = (surfaceHumidity: number, surfaceTemperature: number, humidityLimit: number): boolean =>
  surfaceHumidity >= humidityLimit && surfaceTemperature > 0;

/**
 * Risk hours: hours with surface humidity at or over a limit while the surface is above 0 °C. An indicator: ISO 13788's
 * criterion is a monthly mean, not a count of hours.
 *
 * @param surfaceTemperature °C, one value an hour; NaN where not known
 * @param surfaceHumidity %, the same hours
 * @param humidityLimit %
 * @throws RangeError where the columns differ in length
 */
export function riskHours(
  surfaceTemperature: Float64Array,
  surfaceHumidity: Float64Array,
  humidityLimit = RISK_HUMIDITY,
): HoursCount {
  sameLength('surfaceTemperature', surfaceTemperature, 'surfaceHumidity', surfaceHumidity);
  let hours = 0;
  let known = 0;
  for (let i = 0; i < surfaceHumidity.length; i += 1) {
    const temperature = surfaceTemperature[i]!;
    const humidity = surfaceHumidity[i]!;
    if (Number.isNaN(temperature) || Number.isNaN(humidity)) continue;
    known += 1;
    if (atRisk(humidity, temperature, humidityLimit)) hours += 1;
  }
  const unknownHours = surfaceHumidity.length - known;
  return { hours, knownHours: known, unknownHours, limit: humidityLimit, comparison: 'at-or-above' };
}
