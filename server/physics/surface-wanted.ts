import { above } from './range.ts';
import { dewPoint } from './saturation.ts';
import { temperatureFactor } from './surface.ts';

/**
 * Surface humidity above which mould is to be expected, %, as a monthly mean. @source ISO 13788:2012, 5.1
 */
export const MOULD_SURFACE_HUMIDITY = 80;

/**
 * Coldest a surface may be for its humidity to stay at or under a limit, °C. With the limit at 100 this is the dew point.
 *
 * @param vapourPressure room vapour pressure, Pa, above 0
 * @param humidityLimit surface humidity allowed, %, above 0 and at most 100
 * @throws RangeError outside those ranges, or where the result would lie outside -60 to 100 °C
 * @source ISO 13788:2012, 5.3 c: psat(Tsi) = p / 0.8
 */
export function surfaceTemperatureWanted(
  vapourPressure: number,
  humidityLimit: number = MOULD_SURFACE_HUMIDITY,
): number {
  above('humidityLimit', humidityLimit, '%', 0, 100);
  return dewPoint(vapourPressure / (humidityLimit / 100));
}

/**
 * Temperature factor a surface needs for its humidity to stay at or under a limit. Below 0 where even a surface as cold
 * as the cold side is dry enough; above 1 where no lining can help, because the room air itself is too humid.
 *
 * @param room room air temperature, °C
 * @param vapourPressure room vapour pressure, Pa, above 0
 * @param cold temperature of the cold side, °C
 * @param humidityLimit surface humidity allowed, %, above 0 and at most 100
 * @returns null where room and cold side are equally warm, so that no factor exists
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 5.3 d
 */
export function temperatureFactorWanted(
  room: number,
  vapourPressure: number,
  cold: number,
  humidityLimit: number = MOULD_SURFACE_HUMIDITY,
): number | null {
  return temperatureFactor(surfaceTemperatureWanted(vapourPressure, humidityLimit), room, cold);
}
