import { describe, expect, test } from 'vitest';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { type InventedWeather, radiation, sunHeightSine, weatherHours } from '../../server/simulate/weather.ts';

const weather: InventedWeather = {
  kind: 'invented',
  seed: 4,
  latitude: 53,
  annualMean: 9.8,
  annualSwing: 5.9,
  milderWinters: { 2030: -2, 2031: 2 },
};
const YEAR_HOURS = 8766;
const mean = (values: Float64Array): number => values.reduce((sum, one) => sum + one, 0) / values.length;

describe('the sun', () => {
  test('stands at noon as high as its declination says at solstices and equinox', () => {
    const noon = (month: number, day: number): number =>
      (Math.asin(sunHeightSine(Date.UTC(2025, month, day, 12), 53)) * 180) / Math.PI;
    // obliquity 23.45 degrees (astronomical constant); half a degree, the printed accuracy of Cooper's formula
    expect(Math.abs(noon(5, 21) - (90 - 53 + 23.45))).toBeLessThan(0.5);
    expect(Math.abs(noon(11, 21) - (90 - 53 - 23.45))).toBeLessThan(0.5);
    expect(Math.abs(noon(2, 21) - (90 - 53))).toBeLessThan(0.5);
  });

  test('gives nothing at night and a quarter of it under full cloud', () => {
    expect(radiation(-0.2, 0)).toBe(0);
    // Kasten & Czeplak 1980, from memory: 910 sin h - 30 under a clear sky, a quarter of that at full cloud
    expect(radiation(1, 0)).toBeCloseTo(880, 9);
    expect(radiation(1, 1)).toBeCloseTo(220, 9);
  });
});

describe('invented weather', () => {
  const start = Date.UTC(2028, 6, 1);
  const years = weatherHours(weather, start, 6 * YEAR_HOURS);

  test('has the annual mean and the cold and warm months asked for', () => {
    // synoptic noise of about 3 K that forgets itself in a week or two: a month's mean scatters by some 1.5 K, that of
    // six years' months by 0.6 K; four of those
    const month = (which: number): number => {
      const picked: number[] = [];
      years.temperature.forEach((value, hour) => {
        if (new Date(start + hour * 3_600_000).getUTCMonth() === which) picked.push(value);
      });
      return mean(Float64Array.from(picked));
    };
    expect(Math.abs(mean(years.temperature) - 9.8)).toBeLessThan(1);
    expect(Math.abs(month(0) - (9.8 - 5.9))).toBeLessThan(2.4);
    expect(Math.abs(month(6) - (9.8 + 5.9))).toBeLessThan(2.4);
  });

  test('makes a winter milder by what is asked, against the same winter without', () => {
    const plain = weatherHours({ ...weather, milderWinters: { 2030: 0, 2031: 0 } }, start, 6 * YEAR_HOURS);
    const january = (Date.UTC(2032, 0, 22) - start) / 3_600_000;
    expect(years.temperature[january]! - plain.temperature[january]!).toBeCloseTo(2, 3);
    const july = (Date.UTC(2031, 6, 1) - start) / 3_600_000;
    expect(years.temperature[july]).toBe(plain.temperature[july]);
  });

  test('is never over saturated, never brighter than a clear sky, never without air', () => {
    const { temperature, vapourPressure, solar, wind } = years;
    const worst = { saturation: 0, light: 0, pressure: 1000, wind: 10 };
    for (let hour = 0; hour < temperature.length; hour += 1) {
      const clear = Math.max(0, 910 * sunHeightSine(start + hour * 3_600_000, 53));
      worst.saturation = Math.max(
        worst.saturation,
        vapourPressure[hour]! / saturationPressureOverWater(temperature[hour]!),
      );
      worst.light = Math.max(worst.light, solar[hour]! - clear);
      worst.pressure = Math.min(worst.pressure, vapourPressure[hour]!);
      worst.wind = Math.min(worst.wind, wind[hour]!);
    }
    expect(worst.saturation).toBeLessThanOrEqual(1 + 1e-12);
    expect(worst.saturation).toBeGreaterThan(0.99);
    expect(worst.light).toBe(0);
    expect(worst.pressure).toBeGreaterThan(0);
    expect(worst.wind).toBeGreaterThan(0);
  });

  test('of an hour is the same wherever the asking begins', () => {
    const later = weatherHours(weather, start + 5000 * 3_600_000, 3);
    expect(later.temperature[0]).toBe(years.temperature[5000]);
    expect(later.vapourPressure[2]).toBe(years.vapourPressure[5002]);
  });
});

describe('given weather', () => {
  const given = {
    kind: 'given',
    start: 0,
    temperature: Float64Array.of(-10, 0, 10),
    humidity: Float64Array.of(100, 50, 80),
  } as const;

  test('passes through, its humidity taken over water below zero', () => {
    const hours = weatherHours(given, 3_600_000, 2);
    expect(Array.from(hours.temperature)).toEqual([0, 10]);
    // saturation over water at -10 °C by IAPWS-type formulas: 286.5 Pa, over ice 259.9 Pa (WMO-No. 8 tables, memory);
    // the ISO curve extended below zero lies within 1 %
    expect(Math.abs(weatherHours(given, 0, 1).vapourPressure[0]! / 286.5 - 1)).toBeLessThan(0.01);
  });

  test('that does not cover the hours or has a gap is refused', () => {
    expect(() => weatherHours(given, 0, 4)).toThrow(RangeError);
    expect(() => weatherHours(given, -3_600_000, 1)).toThrow(RangeError);
    expect(() => weatherHours({ ...given, temperature: Float64Array.of(1, Number.NaN, 1) }, 0, 3)).toThrow(
      /temperature\[1\] is NaN/,
    );
    expect(() => weatherHours(given, 1, 1)).toThrow(/whole hour/);
  });
});
