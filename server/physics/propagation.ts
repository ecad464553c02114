import { inRange } from './range.ts';
import { dewPoint, saturationPressureOverWater, saturationSlope, saturationSlopeOverWater } from './saturation.ts';
import { surfaceHumidity, temperatureFactor } from './surface.ts';
import { type Measured, propagate } from './uncertainty.ts';
import { vapourPressure } from './vapour.ts';

/**
 * The moist-air and surface quantities with the uncertainty of what they were worked out from, to first order with the
 * exact derivatives. Chain them: the dew point and the surface temperature of one calibration share its error.
 */

/**
 * Vapour pressure of air, Pa, from the temperature and humidity of a sensor.
 *
 * @param temperature °C
 * @param humidity relative humidity over liquid water, %
 * @throws RangeError as {@link vapourPressure}
 */
export function measuredVapourPressure(temperature: Measured, humidity: Measured): Measured {
  const pressure = vapourPressure(temperature.value, humidity.value);
  return propagate(
    pressure,
    [temperature, pressure * saturationSlopeOverWater(temperature.value)],
    [humidity, saturationPressureOverWater(temperature.value) / 100],
  );
}

/**
 * Dew point, °C (frost point below 0 °C), from a vapour pressure.
 *
 * First order serves while the vapour pressure is known to a tenth of itself; in very dry air it is not.
 *
 * @param pressure Pa
 * @throws RangeError as {@link dewPoint}
 */
export function measuredDewPoint(pressure: Measured): Measured {
  const point = dewPoint(pressure.value);
  return propagate(point, [pressure, 1 / (pressure.value * saturationSlope(point))]);
}

/**
 * Dew-point margin, K.
 *
 * @param pressure room vapour pressure, Pa
 * @param surface surface temperature, °C
 * @throws RangeError as {@link dewPoint}, or for a surface outside -60 to 100 °C
 */
export function measuredMargin(pressure: Measured, surface: Measured): Measured {
  inRange('surface', surface.value, '°C', -60, 100);
  const point = measuredDewPoint(pressure);
  return propagate(surface.value - point.value, [surface, 1], [point, -1]);
}

/**
 * Surface humidity, %.
 *
 * @param pressure room vapour pressure, Pa
 * @param surface surface temperature, °C
 * @throws RangeError as {@link surfaceHumidity}
 */
export function measuredSurfaceHumidity(pressure: Measured, surface: Measured): Measured {
  const humidity = surfaceHumidity(pressure.value, surface.value);
  return propagate(
    humidity,
    [pressure, surfaceHumidity(1, surface.value)],
    [surface, -humidity * saturationSlope(surface.value)],
  );
}

/**
 * Temperature factor, no unit.
 *
 * First order serves while room and cold side are at least some five standard uncertainties apart; nearer, f is not
 * worth having.
 *
 * @param surface °C
 * @param room °C
 * @param cold °C
 * @returns null where room and cold side are equally warm
 * @throws RangeError as {@link temperatureFactor}
 */
export function measuredTemperatureFactor(surface: Measured, room: Measured, cold: Measured): Measured | null {
  const factor = temperatureFactor(surface.value, room.value, cold.value);
  if (factor === null) return null;
  const difference = room.value - cold.value;
  return propagate(factor, [surface, 1 / difference], [room, -factor / difference], [cold, (factor - 1) / difference]);
}

/**
 * How far the dew point moves for 1 K of air temperature and for 1 % of humidity.
 *
 * @param temperature °C
 * @param humidity relative humidity over liquid water, %, above 0
 * @throws RangeError as {@link vapourPressure} and {@link dewPoint}
 */
export function dewPointSensitivity(
  temperature: number,
  humidity: number,
): { readonly perKelvin: number; readonly perPercent: number } {
  const slope = saturationSlope(dewPoint(vapourPressure(temperature, humidity)));
  return { perKelvin: saturationSlopeOverWater(temperature) / slope, perPercent: 1 / (humidity * slope) };
}
