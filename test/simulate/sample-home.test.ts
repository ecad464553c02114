import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import { beforeAll, describe, expect, test } from 'vitest';
import { mouldIndex } from '../../server/physics/mould-index.ts';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { homeHours } from '../../server/simulate/home.ts';
import type { HouseHours } from '../../server/simulate/house.ts';
import { makeSampleData, type SampleData, sampleHome, sampleSpan } from '../../server/simulate/sample-home.ts';
import { type Scenario, scenarioSchema } from '../../server/simulate/scenario.ts';

const folder = fileURLToPath(new URL('../../sample-data/', import.meta.url));
const scenario: Scenario = scenarioSchema.parse(JSON.parse(readFileSync(`${folder}scenario.json`, 'utf8')));
const unpack = (file: string): string => gunzipSync(readFileSync(folder + file)).toString('utf8');

let made: SampleData;
let truth: HouseHours;
beforeAll(() => {
  made = makeSampleData();
  truth = homeHours(sampleHome, sampleSpan.to);
});

const HOUR = 3_600_000;
const hourOf = (text: string): number => (Date.parse(text) - truth.start) / HOUR;

describe('the sample data', () => {
  test('are what the generator makes from the seed, to the last byte', () => {
    expect(made.scenario).toEqual(scenario);
    for (const [name, text] of made.files) expect(text === unpack(name), name).toBe(true);
  });

  test('have the digest and the number of rows that the scenario gives', () => {
    for (const sensor of scenario.sensors) {
      const text = unpack(sensor.file);
      expect(createHash('sha256').update(text).digest('hex')).toBe(sensor.sha256);
      expect(text.trim().split('\n').length - 1).toBe(sensor.rows);
      expect(sensor.rows).toBeGreaterThan(5000);
    }
  });

  test('are small enough to live beside the code', () => {
    const bytes = scenario.sensors.reduce((sum, sensor) => sum + readFileSync(folder + sensor.file).length, 0);
    expect(bytes).toBeLessThan(3e6);
  });

  test('hold rows in order of time, within the span, only where the sensor stands somewhere', () => {
    for (const sensor of scenario.sensors) {
      const stays = scenario.placements.filter((placement) => placement.sensor === sensor.key);
      let before = '';
      const astray = unpack(sensor.file)
        .trim()
        .split('\n')
        .slice(1)
        .filter((line) => {
          const time = line.slice(0, 20);
          const placed = stays.some((stay) => time >= stay.from && (stay.to === null || time < stay.to));
          const fine = placed && time > before && time >= scenario.from && time < scenario.to;
          before = time;
          return !fine;
        });
      expect(astray, sensor.key).toEqual([]);
    }
  });

  test('tell a story whose parts know each other and follow each other', () => {
    const placeKeys = new Set(scenario.places.map((place) => place.key));
    const sensorKeys = new Set(scenario.sensors.map((sensor) => sensor.key));
    for (const place of scenario.places) expect(place.faces === null || placeKeys.has(place.faces)).toBe(true);
    for (const stay of scenario.placements) {
      expect(placeKeys.has(stay.place) && sensorKeys.has(stay.sensor)).toBe(true);
    }
    scenario.phases.slice(1).forEach((phase, index) => {
      expect(scenario.phases[index]!.to).toBe(phase.from);
    });
    const times = scenario.diary.map((entry) => entry.time);
    expect(times).toEqual([...times].sort());
    expect(scenario.placements.filter((stay) => stay.sensor === 'roamer').map((stay) => stay.place)).toEqual([
      'bedroom',
      'loft',
    ]);
  });
});

/** Hour means of a sensor's temperature, by whole hour. */
function hourMeans(key: string): Map<number, number> {
  const sums = new Map<number, { sum: number; count: number }>();
  for (const line of unpack(`readings/${key}.csv.gz`).trim().split('\n').slice(1)) {
    const [time, temperature] = line.split(',');
    const hour = Math.floor(Date.parse(time!) / HOUR);
    const tally = sums.get(hour) ?? { sum: 0, count: 0 };
    tally.sum += Number(temperature);
    tally.count += 1;
    sums.set(hour, tally);
  }
  return new Map(Array.from(sums, ([hour, { sum, count }]) => [hour, sum / count]));
}

describe('what is planted in the sample data', () => {
  const winters: Record<string, readonly [string, string]> = {
    before: ['2024-11-01T00:00Z', '2025-03-01T00:00Z'],
    after: ['2025-11-01T00:00Z', '2026-03-01T00:00Z'],
  };
  const cases: [string, string, keyof typeof winters, number][] = [
    ['slope', 'before', 'before', 0.5],
    ['slope', 'after', 'after', 0.88],
    ['edge', 'after', 'after', 0.68],
    ['flat', 'before', 'before', 0.92],
    ['flat', 'after', 'after', 0.92],
  ];
  test.each(cases)('can be found again in the readings: %s %s', (key, _, winter, planted) => {
    const [from, to] = winters[winter]!.map((text) => Date.parse(text) / HOUR) as [number, number];
    const [surface, room, outdoor] = [hourMeans(key), hourMeans('bedroom'), hourMeans('outdoors')];
    let above = 0;
    let below = 0;
    const { offsets } = scenario.planted;
    for (let hour = from; hour < to; hour += 1) {
      if (hour % 24 >= 7 && hour % 24 < 20) continue;
      const here = surface.get(hour);
      const inside = room.get(hour);
      const outside = outdoor.get(hour);
      if (here === undefined || inside === undefined || outside === undefined) continue;
      const cold = outside - offsets.outdoors!.temperatureK;
      above += here - offsets[key]!.temperatureK - cold;
      below += inside - offsets.bedroom!.temperatureK - cold;
    }
    // with the sensors' errors taken off there remain: contact error 0.02 (1 - f) <= 0.010, clear sky 0.5 K over 13 K
    // times (1 - f) <= 0.02, a night's stored heat and the loft's warmth about 0.01
    expect(Math.abs(above / below - planted)).toBeLessThan(0.02);
  });

  test('a slope that grows visible mould before and not after, with nothing made worse elsewhere', () => {
    const worst = (temperature: Float64Array, pressure: Float64Array, from: string, to: string): number => {
      const [first, end] = [hourOf(from), hourOf(to)];
      const surface = temperature.slice(first, end);
      const humidity = surface.map((one, hour) => (100 * pressure[first + hour]!) / saturationPressureOverWater(one));
      return mouldIndex(surface, humidity).state.highest;
    };
    const before = ['2024-10-01T00:00Z', '2025-09-08T00:00Z'] as const;
    const after = ['2025-10-13T00:00Z', '2026-05-01T00:00Z'] as const;
    expect(worst(truth.slope, truth.roomPressure, ...before)).toBeGreaterThan(2.7);
    expect(worst(truth.slope, truth.roomPressure, ...after)).toBeLessThan(1);
    expect(worst(truth.behind, truth.behindPressure, '2025-09-12T15:00Z', '2026-05-01T00:00Z')).toBeLessThan(1);
    expect(worst(truth.control, truth.roomPressure, ...before)).toBeLessThan(1);
    expect(worst(truth.loftTemperature, truth.loftPressure, ...before)).toBeLessThan(1);
    expect(worst(truth.loftTemperature, truth.loftPressure, ...after)).toBeLessThan(1);
    expect(Math.max(...truth.timberMoisture.slice(hourOf(before[0]), hourOf(after[1])))).toBeLessThan(20);
  });

  test('a second winter that is a bit milder', () => {
    const mean = (from: string, to: string): number => {
      const hours = truth.outdoorTemperature.slice(hourOf(from), hourOf(to));
      return hours.reduce((sum, one) => sum + one, 0) / hours.length;
    };
    const milder = mean('2025-11-01T00:00Z', '2026-03-01T00:00Z') - mean('2024-11-01T00:00Z', '2025-03-01T00:00Z');
    expect(milder).toBeGreaterThan(0.2);
    expect(milder).toBeLessThan(2);
  });

  test('faults where the scenario says: silence, a flat battery, 85 °C, a wet element', () => {
    const between = (key: string, from: string, to: string): string[] =>
      unpack(`readings/${key}.csv.gz`)
        .split('\n')
        .filter((line) => line >= from && line < to);
    for (const sensor of scenario.sensors) {
      expect(between(sensor.key, '2025-03-03T09:00:00Z', '2025-03-04T16:00:00Z')).toEqual([]);
    }
    expect(between('outdoors', '2025-01-26T01:00:00Z', '2025-02-05T16:00:00Z')).toEqual([]);
    expect(between('outdoors', '2025-02-05T16:00:00Z', '2025-02-06T00:00:00Z').length).toBeGreaterThan(10);
    const hot = unpack('readings/edge.csv.gz')
      .split('\n')
      .filter((line) => line.includes(',85'));
    expect(hot.map((line) => line.slice(0, 10))).toEqual(['2025-12-19', '2026-02-11']);
    const wet = between('roamer', '2026-01-24T02:00:00Z', '2026-01-25T19:00:00Z');
    expect(wet.length).toBeGreaterThan(60);
    expect(wet.every((line) => line.split(',')[2] === '100')).toBe(true);
  });
});
