import { describe, expect, test } from 'vitest';
import { factorOfTransmittance, transmittanceOfFactor } from '../../server/physics/factor.ts';
import {
  designVapourPressure,
  humidityClass,
  humidityClassLimits,
  humidityClassUse,
} from '../../server/physics/humidity-class.ts';
import { defaultPublishedFactor, publishedFactors } from '../../server/physics/published-factors.ts';
import { dewPoint, saturationPressure } from '../../server/physics/saturation.ts';
import { surfaceHumidity, surfaceTemperature, temperatureFactor } from '../../server/physics/surface.ts';
import {
  MOULD_SURFACE_HUMIDITY,
  surfaceTemperatureWanted,
  temperatureFactorWanted,
} from '../../server/physics/surface-wanted.ts';
import { vapourPressure } from '../../server/physics/vapour.ts';
import { filled, number, table } from './table.ts';

describe('the case of DIN 4108-2: 20 °C and 50 % indoors, -5 °C outdoors', () => {
  const pressure = vapourPressure(20, 50);

  test('the surface must be 12.6 °C or warmer', () => {
    // printed to 0.1 K
    expect(Math.abs(surfaceTemperatureWanted(pressure) - 12.6)).toBeLessThanOrEqual(0.05);
  });

  test('a factor of 0.70 is asked for', () => {
    // printed to 0.01
    expect(Math.abs(temperatureFactorWanted(20, pressure, -5)! - 0.7)).toBeLessThan(0.01);
    expect(publishedFactors.find((row) => row.id === 'germany')?.factor).toBe(0.7);
  });

  test('a surface of 12.6 °C has the factor 0.704 and a humidity of 80.1 %', () => {
    expect(temperatureFactor(12.6, 20, -5)).toBeCloseTo(17.6 / 25, 12);
    // 80.13 % by an independent implementation of the same curves
    expect(surfaceHumidity(pressure, 12.6)).toBeCloseTo(80.13, 2);
  });
});

describe('the factor wanted, month by month, class 3 and 20 °C indoors', () => {
  // Independent implementation of ISO 13788 clause 5; four decimals printed, so a unit in the last place.
  test.each(table('frsi-min-example.csv'))('$month', (row) => {
    const outdoor = number(row, 'Te_C');
    const outdoorPressure = (number(row, 'RHe_pct') / 100) * saturationPressure(outdoor);
    const excess = humidityClassLimits(outdoor)[2];
    // pressures printed to 0.01 Pa
    expect(Math.abs(excess - number(row, 'dp_class3_upper_Pa'))).toBeLessThan(0.006);
    const room = designVapourPressure(outdoorPressure, excess);
    expect(Math.abs(room - number(row, 'pi_Pa(with 1.10)'))).toBeLessThan(0.011);
    expect(Math.abs(surfaceTemperatureWanted(room) - number(row, 'Tsi_min_C'))).toBeLessThan(0.001);
    expect(Math.abs(temperatureFactorWanted(20, room, outdoor)! - number(row, 'fRsi_min'))).toBeLessThan(0.0001);
  });
});

describe('the factor wanted between 20 °C and 5 °C', () => {
  // Published check values of a public implementation of ISO 13788, which rounds psat(20) to 2337 Pa (0.002 %, that is
  // 0.0003 K in 15 K). At 20 % the surface wanted is below zero and the ice curve applies.
  test.each(
    filled('published factors wanted', [
      [55, 0.60574531],
      [75, 0.930793648],
      [20, -0.36882331],
    ] as const),
  )('at %d %% indoors', (humidity, wanted) => {
    expect(Math.abs(temperatureFactorWanted(20, (humidity / 100) * 2337, 5)! - wanted)).toBeLessThan(1e-6);
    expect(Math.abs(temperatureFactorWanted(20, vapourPressure(20, humidity), 5)! - wanted)).toBeLessThan(5e-5);
  });
});

describe('factor and U', () => {
  test('U 1.2 with Rsi 0.25 is f 0.70', () => {
    expect(factorOfTransmittance(1.2, 0.25)).toBeCloseTo(0.7, 12);
    expect(transmittanceOfFactor(0.7, 0.25)).toBeCloseTo(1.2, 12);
  });

  // Sloping-ceiling cases by an independent implementation of ISO 6946, Rsi 0.25 (resistances to four decimals).
  test.each(
    filled('sloping ceilings', [
      ['bare board', 0.4, 0.375],
      ['50 mm between rafters', 1.4533, 0.828],
      ['50 mm between rafters and 25 mm lining', 2.6619, 0.9061],
      ['25 mm lining', 1.5864, 0.8424],
      ['50 mm lining', 2.7227, 0.9082],
    ] as const),
  )('%s', (_, resistance, wanted) => {
    expect(Math.abs(factorOfTransmittance(1 / resistance, 0.25) - wanted)).toBeLessThan(0.0001);
  });

  test('f from U equals f from the temperatures that U gives', () => {
    const [U, Rsi, room, cold] = [0.77, 0.13, 19.5, -3.2];
    const surface = room - U * Rsi * (room - cold);
    expect(factorOfTransmittance(U, Rsi)).toBeCloseTo(temperatureFactor(surface, room, cold)!, 12);
    expect(surfaceTemperature(factorOfTransmittance(U, Rsi), room, cold)).toBeCloseTo(surface, 12);
  });
});

test('dwellings are judged by 0.75 unless another figure is chosen (BRE IP 1/06)', () => {
  expect(defaultPublishedFactor).toMatchObject({ id: 'uk-dwellings', factor: 0.75, status: 'read' });
  expect(publishedFactors.length).toBeGreaterThan(0);
  for (const row of publishedFactors) expect(row.source).not.toBe('');
  expect(new Set(publishedFactors.map((row) => row.id)).size).toBe(publishedFactors.length);
});

describe('humidity classes of ISO 13788 (Annex A, from memory)', () => {
  test.each(
    filled('class limits', [
      [-8, [270, 540, 810, 1080]],
      [0, [270, 540, 810, 1080]],
      [10, [135, 270, 405, 540]],
      [20, [0, 0, 0, 0]],
      [25, [0, 0, 0, 0]],
    ] as const),
  )('limits at %d °C outdoors', (outdoor, wanted) => {
    expect(humidityClassLimits(outdoor)).toEqual(wanted);
  });

  test('a dwelling 400 Pa above outdoors in frost is class 2, and class 3 at 10 °C outdoors', () => {
    expect(humidityClass(400, -2)).toMatchObject({ kind: 'class', humidityClass: 2, status: 'from memory' });
    expect(humidityClass(400, 10)).toMatchObject({ kind: 'class', humidityClass: 3, use: humidityClassUse[3] });
    expect(humidityClassUse[2]).toContain('dwellings');
  });

  test('an excess at the limit belongs to the class, a hair above to the next', () => {
    expect(humidityClass(540, 0)).toMatchObject({ humidityClass: 2 });
    expect(humidityClass(540.01, 0)).toMatchObject({ humidityClass: 3 });
    expect(humidityClass(1500, 0)).toMatchObject({ humidityClass: 5 });
  });

  test('a summer month has no class', () => {
    expect(humidityClass(100, 21)).toMatchObject({ kind: 'too-warm-outdoors', limits: [0, 0, 0, 0] });
  });
});

test('mould is judged by 80 % at the surface unless another limit is given (ISO 13788, 5.1)', () => {
  const pressure = vapourPressure(19, 63);
  expect(MOULD_SURFACE_HUMIDITY).toBe(80);
  expect(surfaceTemperatureWanted(pressure)).toBe(surfaceTemperatureWanted(pressure, 80));
});

test('the surface wanted at 100 % is the dew point', () => {
  const pressure = vapourPressure(19, 63);
  expect(surfaceTemperatureWanted(pressure, 100)).toBe(dewPoint(pressure));
});
