import { describe, expect, test } from 'vitest';
import { healthCodes } from '../../../server/analysis/health/finding.ts';
import { sensorFindings } from '../../../server/analysis/health/sensor-findings.ts';
import { homeHours } from '../../../server/simulate/home.ts';
import { sampleHome, sampleSpan } from '../../../server/simulate/sample-home.ts';
import { findingsAt, healthyWinter, NOW, plantedFaults, watchedPlaces } from './faults.ts';
import { openDataIsHere, openDataMissing, openHouse, openHouses, windowsAt } from './windows.ts';

const DAY = 86_400_000;
const FORTNIGHT = 14 * DAY;
if (!openDataIsHere) console.warn(openDataMissing);

describe('a fault planted in two weeks of a simulated December', () => {
  test.each(plantedFaults)('$name is told as $code, with its evidence and what to do', ({ code, at, places }) => {
    const findings = findingsAt(places());
    const own = findings.get(at)!;
    expect(own.map((finding) => finding.code)).toEqual([code]);
    const finding = own[0]!;
    expect(finding.message.length).toBeGreaterThan(20);
    expect(finding.whatToDo).toMatch(/^[A-Z].*\.$/);
    expect(finding.to).toBeGreaterThanOrEqual(finding.from);
    expect(Object.values(finding.data).some((value) => typeof value === 'number')).toBe(true);
    for (const value of Object.values(finding.data)) expect(value).not.toBeNaN();
  });

  test('a flat line counts in no hour where the sensor stands alone, and only stands beside them where it has company', () => {
    const { places, at } = plantedFaults.find(({ name }) => name.startsWith('repeats one temperature'))!;
    const window = windowsAt(places(), NOW).find(({ key }) => key === at)!;
    const effectWith = (companions: number) => sensorFindings({ ...window, companions })[0]!.effect.kind;
    expect([effectWith(0), effectWith(1)]).toEqual(['not-counted', 'shown']);
  });

  test('there is at least one for every rule', () => {
    expect([...new Set(plantedFaults.map(({ code }) => code))].sort()).toEqual([...healthCodes].sort());
  });
});

describe('a healthy winter is quiet', () => {
  test('two weeks of a simulated December without a fault', () => {
    for (const [name, findings] of findingsAt(healthyWinter())) expect([name, findings]).toEqual([name, []]);
  });

  test('the sample home from October to April, twice, outside its planted faults', () => {
    const hours = homeHours(sampleHome, sampleSpan.to);
    const planted = sampleHome.sensors.flatMap(({ faults }) => faults.map(({ from, to }) => ({ from, to })));
    // the outdoor battery that ran down, and the sensor's silence until it was changed
    planted.push({ from: Date.UTC(2025, 0, 10), to: Date.UTC(2025, 1, 6) });
    const told: string[] = [];
    let windows = 0;
    for (let now = sampleSpan.from + FORTNIGHT; now <= sampleSpan.to; now += FORTNIGHT) {
      const month = new Date(now).getUTCMonth();
      if (month >= 4 && month <= 9) continue;
      for (const window of windowsAt(watchedPlaces(sampleHome, hours, now - FORTNIGHT, now), now)) {
        windows++;
        for (const { code, from, to } of sensorFindings(window)) {
          if (!planted.some((fault) => from <= fault.to && to >= fault.from - DAY / 24)) {
            told.push(`${window.key} ${new Date(now).toISOString()}: ${code}`);
          }
        }
      }
    }
    expect(windows).toBeGreaterThan(150);
    expect(told).toEqual([]);
  }, 120_000);

  test.skipIf(!openDataIsHere).each(Object.keys(openHouses))(
    'all points of measured %s over all its months',
    (house) => {
      const places = openHouse(house);
      const begins = Math.min(...places.map(({ series }) => series.temperature!.times[0]!));
      const ends = Math.max(...places.map(({ series }) => series.temperature!.times.at(-1)!));
      const told: string[] = [];
      let windows = 0;
      for (let now = begins + FORTNIGHT; now <= ends; now += FORTNIGHT) {
        // a logger whose file ends is no longer there
        const present = places.filter(({ series }) => series.temperature!.times.at(-1)! > now);
        for (const window of windowsAt(present, now)) {
          windows++;
          for (const { code, message } of sensorFindings(window)) {
            told.push(`${window.key} ${new Date(now).toISOString()}: ${code}: ${message}`);
          }
        }
      }
      expect(windows).toBeGreaterThan(150);
      expect(told).toEqual([]);
    },
  );
});
