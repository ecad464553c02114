import { inRange } from './range.ts';
import { saturationPressureOverWater } from './saturation.ts';

/**
 * Vapour pressure of air from what a humidity sensor reports, Pa.
 *
 * @param temperature air temperature at the sensor, °C, -60 to 100
 * @param humidity relative humidity over liquid water, 0 to 100 %
 * @throws RangeError outside those ranges
 * @source definition of relative humidity, WMO-No. 8, Annex 4.A: over liquid water at all temperatures
 */
export function vapourPressure(temperature: number, humidity: number): number {
  inRange('humidity', humidity, '%', 0, 100);
  return (humidity / 100) * saturationPressureOverWater(temperature);
}

/**
 * Relative humidity over liquid water, %, as a sensor in this air would report it. May exceed 100 where the air holds
 * more than it can (moved to a colder place, it would condense). Inverse of {@link vapourPressure}.
 *
 * @param temperature °C, -60 to 100
 * @param vapourPressure Pa, 0 to 101 325
 * @throws RangeError outside those ranges
 * @source definition of relative humidity, WMO-No. 8, Annex 4.A
 */
export function relativeHumidity(temperature: number, vapourPressure: number): number {
  inRange('vapourPressure', vapourPressure, 'Pa', 0, 101_325);
  return (100 * vapourPressure) / saturationPressureOverWater(temperature);
}

/**
 * Vapour excess: how much more vapour the air of a room or loft holds than the air outdoors, Pa. Negative where the
 * place is drier than outdoors.
 *
 * @param place vapour pressure of the room or loft, Pa, 0 to 101 325
 * @param outdoor vapour pressure outdoors, Pa, 0 to 101 325
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 4.2.4
 */
export function vapourExcess(place: number, outdoor: number): number {
  return inRange('place', place, 'Pa', 0, 101_325) - inRange('outdoor', outdoor, 'Pa', 0, 101_325);
}
