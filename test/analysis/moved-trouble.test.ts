import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import type { MovedTrouble } from '../../server/analysis/assessment.ts';
import { assessmentSettings, assumedUncertainty } from '../../server/analysis/assessment-settings.ts';
import { behindLining, loftAir, loftTimber, phaseColumns } from '../../server/analysis/moved-trouble.ts';
import type { PlaceHours } from '../../server/analysis/place-hours.ts';
import { sensorDraws } from '../../server/analysis/sensor-draws.ts';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { openDataIsHere } from './ceiling-cases.ts';
import { air, DAY_MS, days, HOUR_MS, placeOf, wobble } from './made-hours.ts';

const folder = fileURLToPath(new URL('../../../shared/open-data/', import.meta.url));

/** An open-data file as hour records; its time stamps are UTC+2. */
function openData(path: string, temperatureName: string, humidityName: string): PlaceHours {
  const [head, ...lines] = readFileSync(`${folder}${path}`, 'utf8').trim().split('\n');
  const fields = head!.split(',');
  const rows = lines.map((line) => line.split(','));
  const column = (name: string): Float64Array =>
    Float64Array.from(rows, (row) => {
      const text = row[fields.indexOf(name)] ?? '';
      return text === '' ? Number.NaN : Number(text);
    });
  const start = Date.parse(`${rows[0]![0]!.replace(' ', 'T')}+02:00`);
  const temperatures = column(temperatureName);
  const humidities = column(humidityName).map((value) => Math.min(100, value));
  const made = air(
    start,
    rows.length,
    (hour) => temperatures[hour - start / HOUR_MS]!,
    () => 50,
  );
  return {
    ...made,
    humidity: humidities,
    surfaceHumidity: humidities,
    vapourPressure: temperatures.map((value, i) => (humidities[i]! / 100) * saturationPressureOverWater(value)),
  };
}

const draws = (name: string) => sensorDraws(assumedUncertainty, 'same-sensor', assessmentSettings.resamples, 1, name);

if (!openDataIsHere) console.warn('left out: real lofts over two winters need ../shared/open-data beside the project');

describe.skipIf(!openDataIsHere)(
  'real lofts that nobody touched, one winter against the next',
  { timeout: 300_000 },
  () => {
    const lofts = [
      ['house-b/roofmiddle_airmiddle.csv', 'house-b/outside.csv', 'T', 'RH'],
      ['house-b/roofnorthwest_eavestop.csv', 'house-b/outside.csv', 'T', 'RH'],
      ['house-a/roofsouth_eavestop.csv', 'house-a/fmi.csv', 'Te', 'RHe'],
    ] as const;

    function judged(loft: PlaceHours, outside: PlaceHours): MovedTrouble['kind'][] {
      const kinds: MovedTrouble['kind'][] = [];
      for (const length of [21, 50]) {
        for (const first of ['2011-02-01', '2011-02-20', '2011-03-10']) {
          for (const second of ['2011-12-01', '2012-01-05', '2012-02-10']) {
            const context = {
              before: phaseColumns(days(first, length), []),
              after: phaseColumns(days(second, length), []),
              outdoor: placeOf('Outdoors', 'outdoor-air', outside),
              settings: assessmentSettings,
              seed: 1,
              now: null,
            };
            const offsets = { loft: draws('loft'), outdoor: draws('outdoor') };
            kinds.push(loftAir(placeOf('Loft', 'loft-air', loft), offsets, context).kind);
          }
        }
      }
      return kinds;
    }

    test.each(lofts)(
      '%s is never called wetter, and always is with 120 Pa more in the second winter',
      (path, outside, t, rh) => {
        const loft = openData(path, 'T', 'RH');
        const outdoors = openData(outside, t, rh);
        expect(judged(loft, outdoors)).not.toContain('worse');
        const change = Date.parse('2011-11-01');
        const wetter = {
          ...loft,
          vapourPressure: loft.vapourPressure.map((value, i) =>
            loft.start + i * HOUR_MS < change ? value : value + 120,
          ),
        };
        expect(new Set(judged(wetter, outdoors))).toEqual(new Set(['worse']));
      },
    );
  },
);

describe('behind the lining', () => {
  const context = (outdoorTemperature: number, count: number) => {
    const span = days('2025-11-01', count);
    const outdoor = air(
      span.from,
      count * 24,
      () => outdoorTemperature,
      () => 85,
    );
    return {
      before: null,
      after: phaseColumns(span, []),
      outdoor: placeOf('Outdoors', 'outdoor-air', outdoor),
      settings: assessmentSettings,
      seed: 1,
      now: span.to,
    };
  };
  const layer = (humidity: number, count: number) =>
    placeOf(
      'Old surface',
      'behind-lining',
      air(
        Date.parse('2025-11-01'),
        count * 24,
        () => 10,
        () => humidity,
      ),
    );

  test('a wet layer is called worse as soon as mould can grow there', () => {
    expect(behindLining(layer(97, 70), 0.1, context(4, 70)).kind).toBe('worse');
  });

  test('a dry layer is no worse after sixty cold days, and not before', () => {
    expect(behindLining(layer(65, 70), 0.1, context(4, 70)).kind).toBe('no-worse');
    const early = behindLining(layer(65, 20), 0.1, context(4, 20));
    expect(early.kind).toBe('not-enough-evidence');
    expect(early.by).toBe(Date.parse('2025-11-21') + 40 * DAY_MS);
    expect(behindLining(layer(65, 70), 0.1, context(14, 70)).kind).toBe('not-enough-evidence');
  });

  test('a layer that was as mouldy before is not blamed on the lining', () => {
    const wet = behindLining(layer(97, 70), 6, context(4, 70));
    expect(wet.kind).toBe('no-worse');
    expect(wet.statement).toContain('no higher than the old surface had');
  });
});

describe('loft timber', () => {
  const timber = (before: number, after: number) => {
    const start = Date.parse('2024-11-01');
    const made = air(
      start,
      500 * 24,
      () => 5,
      () => 80,
    );
    const change = Date.parse('2025-08-01');
    return placeOf('Rafter', 'loft-timber', {
      ...made,
      timberMoisture: made.temperature.map((_, i) => (start + i * HOUR_MS < change ? before : after) + 0.3 * wobble(i)),
    });
  };
  const context = {
    before: phaseColumns(days('2024-12-01', 60), []),
    after: phaseColumns(days('2025-12-01', 60), []),
    outdoor: null,
    settings: assessmentSettings,
    seed: 1,
    now: null,
  };

  test('is as before at 16 %, worse at 22 % and worse when it rises by 4 % under the limit', () => {
    expect(loftTimber(timber(16, 16), context).kind).toBe('no-worse');
    expect(loftTimber(timber(16, 22), context).kind).toBe('worse');
    expect(loftTimber(timber(12, 16), context).kind).toBe('worse');
  });

  test('cannot be compared without a before', () => {
    expect(loftTimber(timber(16, 16), { ...context, before: null }).kind).toBe('not-enough-evidence');
  });
});
