import { describe, expect, test } from 'vitest';
import { assumedUncertainty } from '../../server/analysis/assessment-settings.ts';
import type { Calibration } from '../../server/analysis/calibration.ts';
import { sensorDraws } from '../../server/analysis/sensor-draws.ts';
import {
  accuracySource,
  placeUncertainty,
  sensorErrors,
  type WatchingSensor,
} from '../../server/analysis/sensor-errors.ts';
import { measured, propagate, standardUncertainty } from '../../server/physics/uncertainty.ts';

const OCTOBER = Date.UTC(2025, 9, 1);
const DAY = 86_400_000;
const ZONE = 'Europe/London';
const RUN = 'side-by-side run of 2025-10-01';

const calibration = (change: Partial<Calibration> = {}): Calibration => ({
  seriesId: 1,
  from: OCTOBER,
  method: 'side-by-side',
  points: [{ reading: 20, reference: 20.5 }],
  uncertainty: 0.1,
  sharedSource: RUN,
  sharedUncertainty: 0.08,
  // half past midnight in London, still the day before in UTC
  madeAt: OCTOBER - 30 * 60_000,
  withdrawnAt: null,
  ...change,
});

const watching = (change: Partial<WatchingSensor> = {}): WatchingSensor => ({
  key: 'slope',
  model: 'SHT40',
  from: 0,
  to: null,
  temperature: [],
  humidity: [],
  ...change,
});

describe('what a reading may be wrong by', () => {
  test('is the data sheet of the chip while nobody has calibrated the sensor, and is said so', () => {
    // ± 0.2 K read as rectangular, GUM 4.3.7
    const [error] = sensorErrors({ key: 'a', model: 'sht-40 breakout' }, 'temperature', null);
    expect(error!.contribution).toBeCloseTo(0.2 / Math.sqrt(3), 12);
    expect(accuracySource('sht-40 breakout', 'temperature', null, ZONE)).toBe('data sheet of SHT40, not calibrated');
    expect(accuracySource(null, 'humidity', null, ZONE)).toMatch(/unknown type, not calibrated/);
    expect(accuracySource('DS18B20', 'humidity', null, ZONE)).toMatch(/measures no humidity/);
    expect(sensorErrors({ key: 'a', model: 'SHT40' }, 'co2', null)).toEqual([]);
  });

  test('is the uncertainty of the calibration once there is one, with its day in the home’s own time', () => {
    const errors = sensorErrors({ key: 'a', model: 'SHT40' }, 'temperature', calibration());
    expect(standardUncertainty(measured(20, ...errors))).toBeCloseTo(0.1, 12);
    expect(accuracySource('SHT40', 'temperature', calibration(), ZONE)).toBe('calibrated 2025-10-01, side by side');
    const ice = calibration({ method: 'ice-point', sharedSource: null, sharedUncertainty: 0 });
    expect(accuracySource('DS18B20', 'temperature', ice, 'UTC')).toBe('calibrated 2025-09-30, ice point');
  });

  test('cancels in the difference of two sensors so far as both were corrected against the same mean', () => {
    const reading = (key: string, change: Partial<Calibration>) =>
      measured(20, ...sensorErrors({ key, model: null }, 'temperature', calibration(change)));
    const difference = (other: Partial<Calibration>) =>
      standardUncertainty(propagate(0, [reading('a', {}), 1], [reading('b', other), -1]));
    // 0.1² = 0.08² shared + 0.06² own: the difference of two keeps √2 of 0.06
    expect(difference({})).toBeCloseTo(Math.SQRT2 * 0.06, 12);
    expect(difference({ sharedSource: 'another run' })).toBeCloseTo(Math.SQRT2 * 0.1, 12);
  });
});

describe('what the sensors of a place may be wrong by, for before and after', () => {
  const spans = [
    { from: OCTOBER - 200 * DAY, to: OCTOBER - 100 * DAY },
    { from: OCTOBER, to: OCTOBER + 100 * DAY },
  ];

  test('is nothing that is known where no sensor names its type and none was calibrated', () => {
    expect(placeUncertainty([watching({ model: null })], spans, ZONE)).toBeNull();
    expect(placeUncertainty([], spans, ZONE)).toBeNull();
  });

  test('is the calibration that held in both, with the reference that it shares', () => {
    const always = calibration({ from: 0 });
    const known = placeUncertainty([watching({ temperature: [always], humidity: null })], spans, ZONE);
    expect(known).toEqual({
      ...assumedUncertainty,
      temperatureOffsetK: 0.1,
      sharedTemperature: { source: RUN, uncertainty: 0.08 },
      source: 'calibrated 2025-10-01, side by side',
    });
  });

  test('is the data sheet still where the calibration began after the before phase', () => {
    const late = placeUncertainty([watching({ temperature: [calibration()], humidity: null })], spans, ZONE)!;
    expect(late.temperatureOffsetK).toBeCloseTo(0.2 / Math.sqrt(3), 12);
    expect(late.source).toBe('data sheet of SHT40, not calibrated (the least sure of 2)');
    expect(late.sharedTemperature).toBeUndefined();
  });

  test('is said for temperature and humidity apart where they differ', () => {
    const known = placeUncertainty([watching({ model: null, temperature: [calibration({ from: 0 })] })], spans, ZONE)!;
    expect(known.humidityOffsetPct).toBe(assumedUncertainty.humidityOffsetPct);
    expect(known.source).toMatch(/^temperature calibrated 2025-10-01, side by side; humidity assumed: not calibrated/);
  });

  test('leaves out a sensor that stood there in neither phase', () => {
    const between = watching({ key: 'old', model: 'BME280', from: OCTOBER - 90 * DAY, to: OCTOBER - 10 * DAY });
    const known = placeUncertainty([watching({ humidity: null }), between], spans, ZONE)!;
    expect(known.temperatureOffsetK).toBeCloseTo(0.2 / Math.sqrt(3), 12);
  });
});

describe('drawn offsets of two places', () => {
  const spread = (values: Float64Array): number =>
    Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
  const draws = 20_000;
  const drawn = (place: string, source: string) =>
    sensorDraws(
      {
        temperatureOffsetK: 0.1,
        humidityOffsetPct: 1,
        temperatureDriftK: 0,
        humidityDriftPct: 0,
        sharedTemperature: { source, uncertainty: 0.08 },
        source: '',
      },
      'same-sensor',
      draws,
      7,
      place,
    ).before.temperature;
  const difference = (a: Float64Array, b: Float64Array): Float64Array => a.map((value, k) => value - b[k]!);

  // the spread of n normal draws is known to 1 / √(2n), here 0.5 %; four of them: 2 %
  test('share the error of their reference, which cancels in the difference; each alone has all of it', () => {
    expect(Math.abs(spread(drawn('slope', RUN)) / 0.1 - 1)).toBeLessThan(0.02);
    const together = spread(difference(drawn('slope', RUN), drawn('room', RUN)));
    expect(Math.abs(together / (Math.SQRT2 * 0.06) - 1)).toBeLessThan(0.02);
    const apart = spread(difference(drawn('slope', RUN), drawn('room', 'another run')));
    expect(Math.abs(apart / (Math.SQRT2 * 0.1) - 1)).toBeLessThan(0.02);
  });
});
