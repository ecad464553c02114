import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { pressureOfConcentration, vapourConcentration } from '../../server/physics/concentration.ts';
import { factorOfTransmittance, transmittanceOfFactor } from '../../server/physics/factor.ts';
import { humidityClass } from '../../server/physics/humidity-class.ts';
import { humidityRatio } from '../../server/physics/humidity-ratio.ts';
import { sameLength } from '../../server/physics/range.ts';
import {
  dewPoint,
  dewPointOverWater,
  saturationPressure,
  saturationPressureOverWater,
  saturationSlope,
  saturationSlopeOverWater,
} from '../../server/physics/saturation.ts';
import {
  dewPointMargin,
  surfaceHumidity,
  surfaceTemperature,
  temperatureFactor,
} from '../../server/physics/surface.ts';
import { surfaceTemperatureWanted, temperatureFactorWanted } from '../../server/physics/surface-wanted.ts';
import { relativeHumidity, vapourExcess, vapourPressure } from '../../server/physics/vapour.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const temperature = number(-60, 100);
const homely = number(-30, 50);
// at -30 °C, air of 3 % still has a frost point above -60 °C
const humidity = number(3, 100);
const apart = fc.tuple(temperature, temperature).filter(([a, b]) => b - a > 1e-6);

const holds = <T extends unknown[]>(
  arbitraries: { [K in keyof T]: fc.Arbitrary<T[K]> },
  claim: (...values: T) => void,
): void =>
  fc.assert(fc.property(...(arbitraries as never as [fc.Arbitrary<unknown>]), claim as never), { numRuns: 500 });

describe('nature is monotone, and so are we', () => {
  test('warmer air can hold more vapour', () => {
    holds([apart], ([colder, warmer]) => {
      expect(saturationPressure(warmer)).toBeGreaterThan(saturationPressure(colder));
      expect(saturationPressureOverWater(warmer)).toBeGreaterThan(saturationPressureOverWater(colder));
    });
  });

  test('over water is never below over ice', () => {
    holds([number(-60, 0)], (t) => {
      expect(saturationPressureOverWater(t)).toBeGreaterThanOrEqual(saturationPressure(t));
    });
  });

  test('more vapour raises the dew point and lowers the margin', () => {
    holds([homely, number(3, 99), homely], (t, h, surface) => {
      const [less, more] = [vapourPressure(t, h), vapourPressure(t, h + 1)];
      expect(dewPoint(more)).toBeGreaterThan(dewPoint(less));
      expect(dewPointMargin(more, surface)).toBeLessThan(dewPointMargin(less, surface));
    });
  });

  test('a colder surface is more humid', () => {
    holds([apart, number(1, 4000)], ([colder, warmer], pressure) => {
      expect(surfaceHumidity(pressure, colder)).toBeGreaterThan(surfaceHumidity(pressure, warmer));
    });
  });

  test('more excess never means a lower humidity class', () => {
    holds([number(-500, 3000), number(0, 500), number(-20, 19.9)], (excess, more, outdoor) => {
      const [less, greater] = [humidityClass(excess, outdoor), humidityClass(excess + more, outdoor)];
      if (less.kind !== 'class' || greater.kind !== 'class') throw new Error('a class was expected');
      expect(greater.humidityClass).toBeGreaterThanOrEqual(less.humidityClass);
    });
  });

  test('a stricter humidity limit wants a warmer surface', () => {
    holds([number(10, 4000), number(40, 99)], (pressure, limit) => {
      expect(surfaceTemperatureWanted(pressure, limit)).toBeGreaterThan(surfaceTemperatureWanted(pressure, limit + 1));
    });
  });
});

describe('inverses invert', () => {
  test('dew point undoes saturation pressure, over ice and over water', () => {
    // Rounding in the logarithm near 0 °C, where the result passes through zero: a few ulps of 237 °C.
    holds([temperature], (t) => {
      expect(dewPoint(saturationPressure(t))).toBeCloseTo(t, 9);
      expect(dewPointOverWater(saturationPressureOverWater(t))).toBeCloseTo(t, 9);
    });
  });

  test('relative humidity undoes vapour pressure', () => {
    holds([temperature, number(0, 100)], (t, h) => {
      const pressure = vapourPressure(t, h);
      fc.pre(pressure <= 101_325);
      expect(relativeHumidity(t, pressure)).toBeCloseTo(h, 9);
    });
  });

  test('pressure undoes concentration', () => {
    holds([temperature, number(0, 90_000)], (t, p) => {
      expect(pressureOfConcentration(t, vapourConcentration(t, p))).toBeCloseTo(p, 6);
    });
  });

  test('temperature factor undoes surface temperature', () => {
    holds([number(-0.4, 2), number(5, 35), number(-30, 4)], (f, room, cold) => {
      expect(temperatureFactor(surfaceTemperature(f, room, cold), room, cold)).toBeCloseTo(f, 9);
    });
  });

  test('U undoes f', () => {
    holds([number(0, 1), number(0.04, 0.5)], (f, Rsi) => {
      expect(factorOfTransmittance(transmittanceOfFactor(f, Rsi), Rsi)).toBeCloseTo(f, 12);
    });
  });

  test('a surface as warm as wanted has exactly the humidity allowed', () => {
    holds([number(-10, 35), number(5, 100), number(30, 100)], (t, h, limit) => {
      const pressure = vapourPressure(t, h);
      const surface = surfaceTemperatureWanted(pressure, limit);
      expect(surfaceHumidity(pressure, surface)).toBeCloseTo(limit, 8);
    });
  });

  test('a surface with the factor wanted has exactly the humidity allowed', () => {
    holds([number(12, 30), number(20, 90), number(-15, 8)], (room, h, cold) => {
      const pressure = vapourPressure(room, h);
      const f = temperatureFactorWanted(room, pressure, cold)!;
      expect(surfaceHumidity(pressure, surfaceTemperature(f, room, cold))).toBeCloseTo(80, 7);
    });
  });
});

describe('slopes are slopes', () => {
  test('away from 0 °C they equal a central difference', () => {
    const step = 1e-4;
    holds([temperature.filter((t) => Math.abs(t) > 0.001 && Math.abs(t) < 59)], (t) => {
      // Truncation is of the order of step² times the third derivative, rounding of the order 1e-16 / step.
      const slope = (curve: (t: number) => number) =>
        (Math.log(curve(t + step)) - Math.log(curve(t - step))) / (2 * step);
      expect(saturationSlope(t)).toBeCloseTo(slope(saturationPressure), 9);
      expect(saturationSlopeOverWater(t)).toBeCloseTo(slope(saturationPressureOverWater), 9);
    });
  });
});

test('no input in range gives NaN or infinity', () => {
  holds([homely, humidity, homely, homely], (t, h, surface, cold) => {
    const p = vapourPressure(t, h);
    const results = [
      p,
      relativeHumidity(t, p),
      vapourExcess(p, 800),
      vapourConcentration(t, p),
      humidityRatio(p),
      dewPoint(p),
      dewPointMargin(p, surface),
      surfaceHumidity(p, surface),
      temperatureFactor(surface, t, cold) ?? 0,
    ];
    for (const result of results) expect(Number.isFinite(result)).toBe(true);
  });
});

describe('what cannot be is refused by name, value, unit and range', () => {
  const wrong: readonly (readonly [string, () => unknown, RegExp])[] = [
    ['temperature', () => saturationPressure(-61), /temperature is -61 °C; .*-60 and 100 °C/],
    ['temperature', () => saturationPressureOverWater(Number.NaN), /temperature is NaN/],
    ['temperature', () => saturationSlope(101), /temperature is 101/],
    ['humidity', () => vapourPressure(20, 100.1), /humidity is 100.1 %/],
    ['humidity', () => vapourPressure(20, -1), /humidity is -1 %/],
    ['pressure', () => dewPoint(0), /vapourPressure is 0 Pa/],
    ['pressure', () => dewPointOverWater(Number.POSITIVE_INFINITY), /vapourPressure is Infinity Pa/],
    ['pressure', () => relativeHumidity(20, -1), /vapourPressure is -1 Pa/],
    ['pressure', () => vapourExcess(Number.NaN, 800), /place is NaN Pa/],
    ['pressure', () => vapourExcess(800, -1), /outdoor is -1 Pa/],
    ['pressure', () => surfaceHumidity(-1, 10), /vapourPressure is -1 Pa/],
    ['pressure', () => humidityRatio(100_000), /vapourPressure is 100000 Pa/],
    ['air pressure', () => humidityRatio(1000, 10), /airPressure is 10 Pa/],
    ['concentration', () => pressureOfConcentration(20, 2), /concentration is 2 kg\/m³/],
    ['surface', () => dewPointMargin(1000, Number.NaN), /surfaceTemperature is NaN °C/],
    ['surface', () => temperatureFactor(Number.NaN, 20, 0), /surface is NaN °C/],
    ['factor', () => surfaceTemperature(11, 20, 0), /factor is 11;/],
    ['limit', () => surfaceTemperatureWanted(1000, 0), /humidityLimit is 0 %; it must be above 0/],
    ['U', () => factorOfTransmittance(9, 0.13), /transmittance is 9 W/],
    ['Rsi', () => transmittanceOfFactor(0.5, 0), /surfaceResistance is 0 m²K\/W/],
    ['factor', () => transmittanceOfFactor(1.1, 0.13), /factor is 1.1;/],
    ['excess', () => humidityClass(Number.NaN, 5), /meanExcess is NaN Pa/],
    ['outdoor', () => humidityClass(300, 70), /meanOutdoorTemperature is 70 °C/],
    ['columns', () => sameLength('a', [1], 'b', [1, 2]), /a has 1 entries and b has 2/],
  ];
  test.each(wrong)('%s (%#)', (_, act, message) => {
    expect(act).toThrow(RangeError);
    expect(act).toThrow(message);
  });

  test('no factor exists between equal temperatures', () => {
    expect(temperatureFactor(15, 20, 20)).toBeNull();
    expect(temperatureFactor(15, 0, 5e-324)).toBeNull();
    expect(temperatureFactorWanted(20, 1000, 20)).toBeNull();
  });
});
