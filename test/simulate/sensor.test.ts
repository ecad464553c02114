import { describe, expect, test } from 'vitest';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import {
  offsetsOf,
  readings,
  type SensorReading,
  type SimulatedSensor,
  type Surroundings,
} from '../../server/simulate/sensor.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const start = Date.UTC(2025, 0, 1);

const plain: SimulatedSensor = {
  key: 'one',
  model: 'SHT31',
  seed: 1,
  intervalSeconds: 900,
  jitterSeconds: 20,
  lostShare: 0,
  outageDays: 0,
  contactError: 0,
  faults: [],
  batteries: [],
};
const even: Surroundings = { temperature: 12, vapourPressure: 1000, timberMoisture: 17 };
const read = (sensor: SimulatedSensor, from: number, to: number, around = (): Surroundings | null => even) =>
  Array.from(readings(sensor, around, () => 20, from, to));
const mean = (values: readonly number[]): number => values.reduce((sum, one) => sum + one, 0) / values.length;
const temperatures = (all: readonly SensorReading[]): number[] => all.map((one) => one.temperature!);

describe('a simulated sensor', () => {
  test('sends at its interval, give or take its jitter, on whole seconds', () => {
    const all = read(plain, start, start + 10 * DAY);
    expect(all.length).toBe(960);
    for (let index = 1; index < all.length; index += 1) {
      const gap = (all[index]!.time - all[index - 1]!.time) / 1000;
      expect(Number.isInteger(gap)).toBe(true);
      expect(Math.abs(gap - 900)).toBeLessThanOrEqual(40);
    }
  });

  test('sends the same in one span as in two that join', () => {
    const parts = [...read(plain, start, start + 7 * HOUR), ...read(plain, start + 7 * HOUR, start + DAY)];
    expect(parts).toEqual(read(plain, start, start + DAY));
  });

  test('is off by its own constant error and no more', () => {
    const all = read(plain, start, start + 20 * DAY);
    const offsets = offsetsOf(plain);
    // noise 0.03 K and 0.15 % over 1920 readings: four standard errors, plus half a step of resolution
    expect(Math.abs(mean(temperatures(all)) - 12 - offsets.temperature)).toBeLessThan(
      (4 * 0.03) / Math.sqrt(1920) + 0.005,
    );
    const relative = (100 * 1000) / saturationPressureOverWater(12);
    const shown = mean(all.map((one) => one.humidity!));
    expect(Math.abs(shown - relative - offsets.humidity)).toBeLessThan((4 * 0.15) / Math.sqrt(1920) + 0.05);
  });

  test('draws that error evenly between the limits of its data sheet', () => {
    const drawn = Array.from({ length: 2000 }, (_, seed) => offsetsOf({ ...plain, seed }).temperature);
    // ±0.3 K: standard deviation 0.3 / sqrt(3); its estimate scatters by sqrt((1.8 - 1) / 4 n) for an even spread
    const deviation = Math.sqrt(mean(drawn.map((one) => one * one)));
    expect(Math.abs(deviation / (0.3 / Math.sqrt(3)) - 1)).toBeLessThan(4 * Math.sqrt(0.8 / 8000));
    expect(Math.max(...drawn.map(Math.abs))).toBeLessThanOrEqual(0.3);
  });

  test('on a surface reads part of the way to the air, and humidity at what it reads', () => {
    const bonded = read(plain, start, start + 20 * DAY);
    const loose = read({ ...plain, contactError: 0.05 }, start, start + 20 * DAY);
    // 5 % of the 8 K to the air; same noise, so only rounding of both
    expect(mean(temperatures(loose)) - mean(temperatures(bonded))).toBeCloseTo(0.4, 2);
    expect(mean(loose.map((one) => one.humidity!))).toBeLessThan(mean(bonded.map((one) => one.humidity!)));
  });

  test('shows only what its kind can measure, at its resolution', () => {
    const [first] = read({ ...plain, model: 'DS18B20' }, start, start + HOUR);
    expect(first!.humidity).toBeNull();
    expect(first!.timberMoisture).toBeNull();
    expect(first!.temperature! / 0.0625).toBe(Math.round(first!.temperature! / 0.0625));
    const [pins] = read({ ...plain, model: 'resistance pins' }, start, start + HOUR);
    // accuracy 1.5 % and noise 0.15 %
    expect(Math.abs(pins!.timberMoisture! - 17)).toBeLessThan(1.5 + 4 * 0.15);
    expect(pins!.humidity).toBeNull();
  });

  test('loses messages and has outages of the share asked for', () => {
    const lost = read({ ...plain, lostShare: 0.1 }, start, start + 100 * DAY).length / 9600;
    // four standard errors of a share
    expect(Math.abs(lost - 0.9)).toBeLessThan(4 * Math.sqrt((0.1 * 0.9) / 9600));
    const out = read({ ...plain, outageDays: 0.2 }, start, start + 1000 * DAY);
    // 20 % of days lose 6 h on average: 5 % of messages; 200 outages of 6 h with a spread of 2.3 h
    const share = 1 - out.length / 96_000;
    expect(Math.abs(share - 0.05)).toBeLessThan(4 * 0.05 * Math.sqrt((1 + (2.3 / 6) ** 2) / 200));
    const longest = Math.max(...out.slice(1).map((one, index) => one.time - out[index]!.time));
    expect(longest).toBeGreaterThan(8 * HOUR);
  });

  test('sends nothing while it stands nowhere', () => {
    const stands = read(plain, start, start + DAY, () => null);
    expect(stands).toEqual([]);
  });
});

describe('a sensor that fails', () => {
  const from = start + 10 * HOUR;
  const to = start + 20 * HOUR;
  const inside = (one: SensorReading): boolean => one.time >= from && one.time < to;

  test('is silent when silent', () => {
    const all = read({ ...plain, faults: [{ kind: 'silent', from, to }] }, start, start + DAY);
    expect(all.filter(inside)).toEqual([]);
    expect(all.length).toBe(14 * 4);
  });

  test('repeats one reading when flat-lined, whatever happens around it', () => {
    const around = (time: number): Surroundings => ({ ...even, temperature: 10 + (time - start) / HOUR });
    const sensor: SimulatedSensor = { ...plain, faults: [{ kind: 'flat-lined', from, to }] };
    const all = Array.from(readings(sensor, around, () => 20, start, start + DAY));
    expect(new Set(temperatures(all.filter(inside))).size).toBe(1);
    expect(new Set(temperatures(all.filter((one) => !inside(one)))).size).toBeGreaterThan(40);
  });

  test('reads 100 % when wetted and the wrong temperature in a spike, and nothing else changes', () => {
    const wetted = read({ ...plain, faults: [{ kind: 'wetted', from, to }] }, start, start + DAY);
    const spiked = read({ ...plain, faults: [{ kind: 'spike', value: 85, from, to }] }, start, start + DAY);
    const sound = read(plain, start, start + DAY);
    expect(new Set(wetted.filter(inside).map((one) => one.humidity))).toEqual(new Set([100]));
    expect(new Set(temperatures(spiked.filter(inside)))).toEqual(new Set([85]));
    expect(temperatures(wetted)).toEqual(temperatures(sound));
    expect(spiked.filter((one) => !inside(one))).toEqual(sound.filter((one) => !inside(one)));
  });

  test('tells its falling battery voltage until it dies, and again from the next battery on', () => {
    const batteries = [
      { from: start, days: 30 },
      { from: start + 40 * DAY, days: 30 },
    ];
    const all = read({ ...plain, batteries }, start, start + 50 * DAY);
    const told = all.filter((one) => one.battery !== null);
    const days = told.map((one) => (one.time - start) / DAY);
    expect(all.filter((one) => one.time >= start + 30 * DAY && one.time < start + 40 * DAY)).toEqual([]);
    const first = told.filter((_, index) => days[index]! < 30).map((one) => one.battery!);
    expect(first.length).toBeGreaterThan(100);
    for (let index = 1; index < first.length; index += 1) expect(first[index]!).toBeLessThanOrEqual(first[index - 1]!);
    expect(first.at(-1)!).toBeLessThan(2.4);
    expect(told.find((_, index) => days[index]! >= 40)!.battery!).toBeGreaterThan(3);
  });
});
