import { VAPOUR_GAS_CONSTANT, ZERO_CELSIUS_K } from './constants.ts';
import { inRange } from './range.ts';

/**
 * Vapour concentration (absolute humidity): mass of water vapour in a volume of air, kg/m³. Multiply by 1000 for g/m³.
 *
 * @param temperature °C, -60 to 100
 * @param vapourPressure Pa, 0 to 101 325
 * @throws RangeError outside those ranges
 * @source ideal gas law for water vapour, as in ISO 13788:2012, 4.2.4
 */
export function vapourConcentration(temperature: number, vapourPressure: number): number {
  inRange('vapourPressure', vapourPressure, 'Pa', 0, 101_325);
  return vapourPressure / (VAPOUR_GAS_CONSTANT * kelvin(temperature));
}

/**
 * Vapour pressure (or vapour excess) that belongs to a concentration (or an excess of it), Pa.
 * Inverse of {@link vapourConcentration}. An excess may be negative.
 *
 * @param temperature °C, -60 to 100; for an excess, the mean of the two places
 * @param concentration kg/m³, -1 to 1
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 4.2.4: Δp = Δv R (Ti + Te)/2 in kelvin
 */
export function pressureOfConcentration(temperature: number, concentration: number): number {
  inRange('concentration', concentration, 'kg/m³', -1, 1);
  return concentration * VAPOUR_GAS_CONSTANT * kelvin(temperature);
}

const kelvin = (temperature: number): number => inRange('temperature', temperature, '°C', -60, 100) + ZERO_CELSIUS_K;
