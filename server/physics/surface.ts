import { inRange } from './range.ts';
import { dewPoint, saturationPressure } from './saturation.ts';

/** Nothing tells temperatures this close apart; a factor between them would be a ratio of rounding errors. */
const EQUALLY_WARM_K = 1e-9;

/**
 * Relative humidity of air with the room's vapour pressure where it touches a surface, %: over water from 0 °C up, over
 * ice below. Above 100 the surface is wet or frosted.
 *
 * @param vapourPressure room vapour pressure, Pa, 0 to 101 325
 * @param surfaceTemperature °C, -60 to 100
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 5.3
 */
export function surfaceHumidity(vapourPressure: number, surfaceTemperature: number): number {
  inRange('vapourPressure', vapourPressure, 'Pa', 0, 101_325);
  return (100 * vapourPressure) / saturationPressure(surfaceTemperature);
}

/**
 * Surface temperature less the dew point of the room air, K; at or below 0 moisture settles.
 *
 * @param vapourPressure room vapour pressure, Pa, above 0
 * @param surfaceTemperature °C, -60 to 100
 * @throws RangeError outside those ranges
 */
export function dewPointMargin(vapourPressure: number, surfaceTemperature: number): number {
  return inRange('surfaceTemperature', surfaceTemperature, '°C', -60, 100) - dewPoint(vapourPressure);
}

/**
 * Temperature factor f = (surface - cold) / (room - cold), no unit. `f_Rsi` only where the cold side is outdoor air.
 *
 * Not limited to 0 to 1: a surface warmed by the sun or by a pipe lies outside it, and that is worth seeing.
 *
 * @param surface surface temperature, °C
 * @param room room air temperature, °C
 * @param cold temperature of the cold side, °C
 * @returns null where room and cold side are equally warm, so that no factor exists
 * @throws RangeError for a temperature outside -60 to 100 °C
 * @source ISO 13788:2012, 3.1.2
 */
export function temperatureFactor(surface: number, room: number, cold: number): number | null {
  inRange('surface', surface, '°C', -60, 100);
  const difference = inRange('room', room, '°C', -60, 100) - inRange('cold', cold, '°C', -60, 100);
  return Math.abs(difference) < EQUALLY_WARM_K ? null : (surface - cold) / difference;
}

/**
 * Surface temperature that a temperature factor gives between a room and a cold side, °C.
 * Inverse of {@link temperatureFactor}.
 *
 * @param factor temperature factor, -10 to 10
 * @param room room air temperature, °C, -60 to 100
 * @param cold temperature of the cold side, °C, -60 to 100
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 3.1.2
 */
export function surfaceTemperature(factor: number, room: number, cold: number): number {
  inRange('factor', factor, '', -10, 10);
  inRange('room', room, '°C', -60, 100);
  inRange('cold', cold, '°C', -60, 100);
  return cold + factor * (room - cold);
}
