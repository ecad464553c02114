import { expect } from 'vitest';
import type { Home } from './home.ts';

/** Values travel with two decimals, the battery's with three, so half a unit of the last place may be missing. */
export const HALF_A_HUNDREDTH = 0.005 + 1e-9;
export const HALF_A_MILLIVOLT = 0.0005 + 1e-9;

/**
 * What the simulated sensors measured at an instant, worked out here from the raw values of board/world.py with the
 * formulas of the data sheets: Sensirion SHT4x, "Conversion of signal output"; Maxim DS18B20, table 1.
 */
export function truth(second: number): { air: number; humidity: number; surface: number; battery: number } {
  const step = Math.floor(second / 10);
  const temperatureRaw = 20_000 + ((step * 37) % 8_000);
  const humidityRaw = 25_000 + ((step * 53) % 20_000);
  const signed = ((step * 7) % 400) - 100;
  return {
    air: -45 + (175 * temperatureRaw) / 65_535,
    humidity: -6 + (125 * humidityRaw) / 65_535,
    surface: signed / 16,
    battery: (2 * (2_000_000 - (step % 1_000) * 100)) / 1e6,
  };
}

const series = [
  { sensor: 'slope-room', quantity: 'temperature', of: 'air', tolerance: HALF_A_HUNDREDTH },
  { sensor: 'slope-room', quantity: 'humidity', of: 'humidity', tolerance: HALF_A_HUNDREDTH },
  { sensor: 'slope-room', quantity: 'battery', of: 'battery', tolerance: HALF_A_MILLIVOLT },
  { sensor: 'slope-surface', quantity: 'temperature', of: 'surface', tolerance: HALF_A_HUNDREDTH },
] as const;

/**
 * Every series holds exactly these instants before the given one, with what the sensors then showed, and nothing was
 * set aside. Times of receipt lie after it.
 */
export async function expectTruth(home: Home, instants: readonly number[], before: number): Promise<void> {
  expect(instants.length).toBeGreaterThan(0);
  for (const { sensor, quantity, of, tolerance } of series) {
    const readings = await home.readings(sensor, quantity);
    const times = [...readings.keys()].map((time) => time / 1000);
    expect(times.filter((time) => time < before)).toEqual(instants);
    for (const second of instants) {
      expect(Math.abs(readings.get(second * 1000)! - truth(second)[of])).toBeLessThanOrEqual(tolerance);
    }
  }
  expect(await home.trouble()).toEqual([]);
}
