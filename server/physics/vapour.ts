import { inRange } from './range.ts';
import { saturationPressureOverWater } from './saturation.ts';

/**
 * Vapour pressure of air from what a humidity sensor reports, Pa.
 *
 * @param temperature air temperature at the sensor, °C
 * @param humidity relative humidity over liquid water, 0 to 100 %
 * @throws RangeError outside those ranges
 * @source definition of relative humidity, WMO-No. 8, Annex 4.A: over liquid water at all temperatures
 */
export function vapourPressure(temperature: number, humidity: number): number {
  inRange('humidity', humidity, '%', 0, 100);
  return (humidity / 100) * saturationPressureOverWater(temperature);
}
