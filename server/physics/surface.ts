import { dewPoint, saturationPressure } from './saturation.ts';

/**
 * Relative humidity of air with the room's vapour pressure where it touches a surface, %.
 * Above 100 the surface is wet.
 *
 * @param vapourPressure room vapour pressure, Pa
 * @param surfaceTemperature °C
 * @source ISO 13788:2012, 5.3
 */
export function surfaceHumidity(vapourPressure: number, surfaceTemperature: number): number {
  return (100 * vapourPressure) / saturationPressure(surfaceTemperature);
}

/**
 * Surface temperature less the dew point of the room air, K; at or below 0 moisture settles.
 *
 * @param vapourPressure room vapour pressure, Pa, above 0
 * @param surfaceTemperature °C
 */
export function dewPointMargin(vapourPressure: number, surfaceTemperature: number): number {
  return surfaceTemperature - dewPoint(vapourPressure);
}

/**
 * Temperature factor f = (surface - cold) / (room - cold), no unit. `f_Rsi` only where the cold side is outdoor air.
 *
 * @param surface surface temperature, °C
 * @param room room air temperature, °C
 * @param cold temperature of the cold side, °C
 * @returns null where room and cold side are equally warm, so that no factor exists
 * @source ISO 13788:2012, 3.1.2
 */
export function temperatureFactor(surface: number, room: number, cold: number): number | null {
  const difference = room - cold;
  return difference === 0 ? null : (surface - cold) / difference;
}
