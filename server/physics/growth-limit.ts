import type { HoursCount } from './hours-over.ts';
import { inRange, sameLength } from './range.ts';

/** Mould grows above 0 °C and up to this temperature. @source Hukka & Viitanen (1999) */
export const WARMEST_GROWTH = 50;

/**
 * Whether the lowest humidity of the material class also bounds the curve below 20 °C. The polynomial dips under 80 %
 * between about 15 and 20 °C, where its own authors saw no growth.
 */
export type HumidityFloor = 'at-all-temperatures' | 'above-20-only';

/**
 * The curve without its checks, for loops that have made them.
 *
 * @param temperature °C, above 0 and at most {@link WARMEST_GROWTH}
 */
export function growthLimitUnchecked(temperature: number, lowestHumidity: number, floor: HumidityFloor): number {
  if (temperature > 20) return lowestHumidity;
  const curve = 100 + temperature * (-3.13 + temperature * (0.16 - 0.00267 * temperature));
  return curve < lowestHumidity && floor === 'at-all-temperatures' ? lowestHumidity : curve;
}

/**
 * Growth limit: relative humidity at the surface from which mould can grow, %.
 *
 * @param temperature surface temperature, °C, -60 to 100
 * @param lowestHumidity lowest humidity at which the material class grows, 60 to 100 %
 * @returns null at or below 0 °C and above 50 °C, where mould grows at no humidity
 * @throws RangeError outside those ranges
 * @source Hukka & Viitanen, Wood Science and Technology 33 (1999) 475-485
 */
export function growthLimit(
  temperature: number,
  lowestHumidity = 80,
  floor: HumidityFloor = 'at-all-temperatures',
): number | null {
  inRange('temperature', temperature, '°C', -60, 100);
  inRange('lowestHumidity', lowestHumidity, '%', 60, 100);
  if (temperature <= 0 || temperature > WARMEST_GROWTH) return null;
  return growthLimitUnchecked(temperature, lowestHumidity, floor);
}

/**
 * Hours over the growth limit: hours in which the surface is humid enough, for its temperature, for mould to grow.
 * Hours that are not known (NaN in either column) count as neither.
 *
 * @param surfaceTemperature °C, one value an hour; NaN where not known
 * @param surfaceHumidity %, the same hours
 * @param lowestHumidity lowest humidity at which the material class grows, 60 to 100 %; echoed as the limit
 * @throws RangeError where the columns differ in length or the lowest humidity is out of range
 * @source Hukka & Viitanen (1999)
 */
export function hoursOverGrowthLimit(
  surfaceTemperature: Float64Array,
  surfaceHumidity: Float64Array,
  lowestHumidity = 80,
  floor: HumidityFloor = 'at-all-temperatures',
): HoursCount {
  sameLength('surfaceTemperature', surfaceTemperature, 'surfaceHumidity', surfaceHumidity);
  inRange('lowestHumidity', lowestHumidity, '%', 60, 100);
  let hours = 0;
  let known = 0;
  for (let i = 0; i < surfaceHumidity.length; i += 1) {
    const temperature = surfaceTemperature[i]!;
    const humidity = surfaceHumidity[i]!;
    if (Number.isNaN(temperature) || Number.isNaN(humidity)) continue;
    known += 1;
    if (
      temperature > 0 &&
      temperature <= WARMEST_GROWTH &&
      humidity >= growthLimitUnchecked(temperature, lowestHumidity, floor)
    ) {
      hours += 1;
    }
  }
  const unknownHours = surfaceHumidity.length - known;
  return { hours, knownHours: known, unknownHours, limit: lowestHumidity, comparison: 'at-or-above' };
}
