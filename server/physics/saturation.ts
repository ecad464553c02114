import { inRange } from './range.ts';

/**
 * The curves of saturation vapour pressure: p = 610.5 exp(a T / (b + T)), T in °C, p in Pa.
 *
 * @source ISO 13788:2012, Annex E (E.1 over water, E.2 over ice)
 */
const PRESSURE_AT_ZERO = 610.5;
const WATER = { a: 17.269, b: 237.3 } as const;
const ICE = { a: 21.875, b: 265.5 } as const;

const LOWEST = -60;
const HIGHEST = 100;

/**
 * Saturation vapour pressure over liquid water, Pa; below 0 °C over supercooled water.
 * Use it with the humidity an electronic sensor reports, which is relative to liquid water at any temperature.
 *
 * @param temperature °C, -60 to 100
 * @throws RangeError outside that range
 * @source ISO 13788:2012, E.1, extended below 0 °C as WMO-No. 8 does for relative humidity
 */
export function saturationPressureOverWater(temperature: number): number {
  inRange('temperature', temperature, '°C', LOWEST, HIGHEST);
  return PRESSURE_AT_ZERO * Math.exp((WATER.a * temperature) / (WATER.b + temperature));
}

/**
 * Saturation vapour pressure at which moisture settles on a surface, Pa: over water from 0 °C up, over ice below.
 *
 * @param temperature °C, -60 to 100
 * @throws RangeError outside that range
 * @source ISO 13788:2012, E.1 and E.2
 */
export function saturationPressure(temperature: number): number {
  if (temperature >= 0) return saturationPressureOverWater(temperature);
  inRange('temperature', temperature, '°C', LOWEST, HIGHEST);
  return PRESSURE_AT_ZERO * Math.exp((ICE.a * temperature) / (ICE.b + temperature));
}

/**
 * Temperature at which air of this vapour pressure starts to wet (dew) or frost a surface, °C.
 * Inverse of {@link saturationPressure}.
 *
 * @param vapourPressure Pa, above 0
 * @throws RangeError where the result would lie outside -60 to 100 °C
 * @source ISO 13788:2012, E.3 and E.4
 */
export function dewPoint(vapourPressure: number): number {
  inRange('vapourPressure', vapourPressure, 'Pa', saturationPressure(LOWEST), saturationPressure(HIGHEST));
  const logarithm = Math.log(vapourPressure / PRESSURE_AT_ZERO);
  const { a, b } = logarithm >= 0 ? WATER : ICE;
  return (b * logarithm) / (a - logarithm);
}
