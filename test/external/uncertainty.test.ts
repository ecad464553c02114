import { describe, expect, test } from 'vitest';
import {
  dewPointSensitivity,
  measuredDewPoint,
  measuredSurfaceHumidity,
  measuredTemperatureFactor,
  measuredVapourPressure,
} from '../../server/physics/propagation.ts';
import { saturationSlopeOverWater } from '../../server/physics/saturation.ts';
import { measured, standardUncertainty } from '../../server/physics/uncertainty.ts';
import { filled } from './table.ts';

const own = (source: string, value: number, u: number) => measured(value, { source, contribution: u });

describe('how far the dew point moves, by an independent evaluation of the ISO 13788 curves', () => {
  // printed to four decimals, over water
  test.each(
    filled('per % of humidity', [
      [20, 30, 0.4655],
      [20, 50, 0.2967],
      [20, 70, 0.2208],
      [20, 90, 0.1772],
      [15, 80, 0.1889],
      [10, 80, 0.1816],
    ] as const),
  )('at %d °C and %d %%: %d K per %%', (t, h, wanted) => {
    expect(Math.abs(dewPointSensitivity(t, h).perPercent - wanted)).toBeLessThan(0.000051);
  });

  // printed to three decimals
  test.each(
    filled('per kelvin', [
      [20, 30, 0.864],
      [20, 50, 0.918],
      [20, 70, 0.957],
      [20, 90, 0.987],
    ] as const),
  )('at %d °C and %d %%: %d K per K', (t, h, wanted) => {
    expect(Math.abs(dewPointSensitivity(t, h).perKelvin - wanted)).toBeLessThan(0.00051);
  });
});

describe('worked examples', () => {
  test('20 °C ± 0.2 K and 50 ± 1.8 %: the dew point is known to 0.565 K', () => {
    const dew = measuredDewPoint(measuredVapourPressure(own('T', 20, 0.2), own('RH', 50, 1.8)));
    expect(Math.abs(standardUncertainty(dew) - 0.565)).toBeLessThan(0.00051);
  });

  test('the same air against a surface of 12.6 °C ± 0.2 K: surface humidity is known to 4.03 % of itself, 3.2 %', () => {
    const pressure = measuredVapourPressure(own('T', 20, 0.2), own('RH', 50, 1.8));
    const humidity = measuredSurfaceHumidity(pressure, own('Ts', 12.6, 0.2));
    // The example rounds its slopes to three figures: 0.0619 and 0.0656 of 0.2 K, worth 0.01 % in 4.03.
    expect(Math.abs((100 * standardUncertainty(humidity)) / humidity.value - 4.03)).toBeLessThan(0.015);
    expect(Math.abs(standardUncertainty(humidity) - 3.2)).toBeLessThanOrEqual(0.05);
  });

  // s = 0.2 K on each of three sensors, f = 0.7: s / ΔT √(1 + f² + (1 - f)²), printed to the digits shown
  test.each(
    filled('factor', [
      [5, 0.05, 3],
      [10, 0.0251, 4],
      [15, 0.0168, 4],
      [20, 0.0126, 4],
    ] as const),
  )('f over %d K is known to %d', (difference, wanted, digits) => {
    const [room, cold] = [20, 20 - difference];
    const surface = cold + 0.7 * difference;
    const f = measuredTemperatureFactor(own('s', surface, 0.2), own('r', room, 0.2), own('c', cold, 0.2))!;
    expect(f.value).toBeCloseTo(0.7, 12);
    expect(standardUncertainty(f)).toBeCloseTo(wanted, digits);
  });

  test('the slope of the curve over water is 4098 / (237.3 + T)² (handbook form)', () => {
    // 17.269 × 237.3 = 4097.9, which the handbooks round
    expect(Math.abs(saturationSlopeOverWater(20) / (4098 / (237.3 + 20) ** 2) - 1)).toBeLessThan(0.0001);
  });
});
