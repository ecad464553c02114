import { inRange } from './range.ts';

/** Ratio of the molar masses of water and dry air, no unit. @source ASHRAE Handbook of Fundamentals 2017, chapter 1 */
const MOLAR_MASS_RATIO = 0.621945;

/** Standard atmosphere, Pa. */
const STANDARD_ATMOSPHERE = 101_325;

/**
 * Humidity ratio (mixing ratio): mass of water vapour for each mass of dry air, kg/kg.
 *
 * @param vapourPressure Pa, 0 to 0.9 of the air pressure
 * @param airPressure Pa, 30 000 to 120 000
 * @throws RangeError outside those ranges
 * @source ASHRAE Handbook of Fundamentals 2017, chapter 1, equation 20
 */
export function humidityRatio(vapourPressure: number, airPressure: number = STANDARD_ATMOSPHERE): number {
  inRange('airPressure', airPressure, 'Pa', 30_000, 120_000);
  inRange('vapourPressure', vapourPressure, 'Pa', 0, 0.9 * airPressure);
  return (MOLAR_MASS_RATIO * vapourPressure) / (airPressure - vapourPressure);
}
