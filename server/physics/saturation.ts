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
const at = ({ a, b }: { a: number; b: number }, temperature: number): number =>
  PRESSURE_AT_ZERO * Math.exp((a * temperature) / (b + temperature));
const LOWEST_PRESSURE = at(ICE, LOWEST);
const LOWEST_OVER_WATER = at(WATER, LOWEST);
const HIGHEST_PRESSURE = at(WATER, HIGHEST);

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
  return at(WATER, temperature);
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
  return at(ICE, temperature);
}

/**
 * Temperature at which air of this vapour pressure starts to wet (dew) or frost a surface, °C.
 * Inverse of {@link saturationPressure}. Perfectly dry air has no dew point: 0 Pa is refused.
 *
 * @param vapourPressure Pa, above 0
 * @throws RangeError where the result would lie outside -60 to 100 °C
 * @source ISO 13788:2012, E.3 and E.4
 */
export function dewPoint(vapourPressure: number): number {
  inRange('vapourPressure', vapourPressure, 'Pa', LOWEST_PRESSURE, HIGHEST_PRESSURE);
  const logarithm = Math.log(vapourPressure / PRESSURE_AT_ZERO);
  const { a, b } = logarithm >= 0 ? WATER : ICE;
  return (b * logarithm) / (a - logarithm);
}

/**
 * Temperature at which air of this vapour pressure is saturated over liquid water, °C; below 0 °C over supercooled
 * water. This is what a weather station calls dew point. What settles on a surface below 0 °C is frost, sooner: use
 * {@link dewPoint} for that. Inverse of {@link saturationPressureOverWater}.
 *
 * @param vapourPressure Pa, above 0
 * @throws RangeError where the result would lie outside -60 to 100 °C
 * @source ISO 13788:2012, E.3, extended below 0 °C as WMO-No. 8 does
 */
export function dewPointOverWater(vapourPressure: number): number {
  inRange('vapourPressure', vapourPressure, 'Pa', LOWEST_OVER_WATER, HIGHEST_PRESSURE);
  const logarithm = Math.log(vapourPressure / PRESSURE_AT_ZERO);
  return (WATER.b * logarithm) / (WATER.a - logarithm);
}

/**
 * Relative slope of saturation pressure over water, d ln p / dT, 1/K: by how much of itself it rises per kelvin.
 *
 * @param temperature °C, -60 to 100
 * @throws RangeError outside that range
 * @source derivative of ISO 13788:2012, E.1
 */
export function saturationSlopeOverWater(temperature: number): number {
  inRange('temperature', temperature, '°C', LOWEST, HIGHEST);
  return (WATER.a * WATER.b) / (WATER.b + temperature) ** 2;
}

/**
 * Relative slope of {@link saturationPressure}, d ln p / dT, 1/K. It jumps at 0 °C, where ice takes over from water.
 *
 * @param temperature °C, -60 to 100
 * @throws RangeError outside that range
 * @source derivative of ISO 13788:2012, E.1 and E.2
 */
export function saturationSlope(temperature: number): number {
  if (temperature >= 0) return saturationSlopeOverWater(temperature);
  inRange('temperature', temperature, '°C', LOWEST, HIGHEST);
  return (ICE.a * ICE.b) / (ICE.b + temperature) ** 2;
}

/** Vapour pressure of the driest air that has a dew point here, Pa: that of -60 °C. */
export const DRIEST_DEW = saturationPressure(LOWEST);
