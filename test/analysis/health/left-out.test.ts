import { describe, expect, test } from 'vitest';
import { doubtfulHours } from '../../../server/analysis/health/doubtful-hours.ts';
import { countedReadings } from '../../../server/analysis/health/set-aside.ts';

const MINUTE = 60_000;
const START = Date.UTC(2026, 0, 10);

const everyMinutes = (minutes: number, values: readonly number[]) => ({
  quantity: 'temperature' as const,
  times: Float64Array.from(values, (_, k) => START + k * minutes * MINUTE),
  values: Float64Array.from(values),
});
const counted = (minutes: number, ...values: number[]): number[] => [
  ...countedReadings(everyMinutes(minutes, values)).values,
];

describe('readings that hour records leave out', () => {
  // 85 °C in the register after power-on: data sheet of the DS18B20
  test('a power-on value is left out, alone in its hour or among others', () => {
    expect(counted(30, 12, 85, 12.1, 12)).toEqual([12, 12.1, 12]);
    expect(counted(60, 12, 85, 12.1)).toEqual([12, 12.1]);
    expect(counted(30, 85, 85, 12)).toEqual([12]);
  });

  test('a place that truly is near 85 °C keeps it', () => {
    expect(counted(15, 83, 84.5, 85, 84)).toEqual([83, 84.5, 85, 84]);
  });

  test('one wild reading among four of an hour is left out', () => {
    expect(counted(15, 18, 18.2, 38, 18.1)).toEqual([18, 18.2, 18.1]);
    expect(counted(15, 18, -30, 18.2, 18.1)).toEqual([18, 18.2, 18.1]);
  });

  test('of two readings in an hour neither can be called wild', () => {
    expect(counted(30, 18, 38)).toEqual([18, 38]);
  });

  test('a window opened wide in frost, 8 K in a quarter of an hour, counts', () => {
    expect(counted(15, 20, 19.8, 11.8, 10)).toEqual([20, 19.8, 11.8, 10]);
  });

  test('an hour is judged by its own readings alone, wherever the span begins', () => {
    const values = Array.from({ length: 96 }, (_, k) => (k % 17 === 3 ? 60 : 15 + Math.sin(k / 9)));
    const whole = everyMinutes(15, values);
    const kept = countedReadings(whole);
    const parts = Array.from({ length: 24 }, (_, hour) => {
      const slice = { ...whole, times: whole.times.subarray(4 * hour, 4 * hour + 4) };
      return countedReadings({ ...slice, values: whole.values.subarray(4 * hour, 4 * hour + 4) });
    });
    expect(parts.flatMap(({ times }) => [...times])).toEqual([...kept.times]);
    expect(kept.values.length).toBe(96 - values.filter((value) => value === 60).length);
  });

  test('other quantities are left alone', () => {
    const humidity = { ...everyMinutes(15, [60, 85, 20, 61]), quantity: 'humidity' as const };
    expect(countedReadings(humidity)).toBe(humidity);
  });
});

describe('hours that count nowhere', () => {
  const hours = (count: number, of: (i: number) => [tLow: number, tHigh: number, hLow: number, hHigh: number]) => {
    const all = Array.from({ length: count }, (_, i) => of(i));
    const column = (at: 0 | 1 | 2 | 3) => Float64Array.from(all, (one) => one[at]);
    return { temperatureMin: column(0), temperatureMax: column(1), humidityMin: column(2), humidityMax: column(3) };
  };
  const marked = (marks: Uint8Array): number[] => [...marks].flatMap((mark, i) => (mark === 1 ? [i] : []));
  const span = (from: number, to: number): number[] => Array.from({ length: to - from }, (_, k) => from + k);
  const lively = (i: number): [number, number, number, number] => [5 + (i % 7) / 10, 5.3 + (i % 7) / 10, 70, 72];

  test('those in which temperature and humidity repeat one value for ten hours', () => {
    const frozen = hours(40, (i) => (i >= 12 && i < 22 ? [5, 5, 80, 80] : lively(i)));
    const doubts = doubtfulHours('outdoor-air', frozen);
    expect(marked(doubts.temperature)).toEqual(span(12, 22));
    expect(marked(doubts.humidity)).toEqual(span(12, 22));
  });

  test('not six hours of fog that stand still, and not a steady temperature with a moving humidity', () => {
    const fog = hours(40, (i) => (i >= 12 && i < 18 ? [5, 5, 100, 100] : lively(i)));
    expect(marked(doubtfulHours('outdoor-air', fog).temperature)).toEqual([]);
    const steady = hours(40, (i) => [20, 20, 50 + i / 10, 50.2 + i / 10]);
    expect(marked(doubtfulHours('room-air', steady).temperature)).toEqual([]);
  });

  test('those in which the loft stands at 100 % for a day and a half, its temperature excepted', () => {
    const wet = hours(60, (i) => (i >= 10 && i < 50 ? [3 + i / 10, 3.2 + i / 10, 100, 100] : lively(i)));
    const doubts = doubtfulHours('loft-air', wet);
    expect(marked(doubts.humidity)).toEqual(span(10, 50));
    expect(marked(doubts.temperature)).toEqual([]);
  });

  test('also where a calibration shows the 100 % as 97.2', () => {
    const wet = hours(60, (i) => (i >= 10 && i < 50 ? [3 + i / 10, 3.2 + i / 10, 97.2, 97.2] : lively(i)));
    expect(marked(doubtfulHours('loft-air', wet).humidity)).toEqual(span(10, 50));
  });

  test('not two days of fog outdoors, as measured in a Finnish November', () => {
    const fog = hours(60, (i) => (i >= 5 && i < 53 ? [3 + i / 10, 3.2 + i / 10, 100, 100] : lively(i)));
    expect(marked(doubtfulHours('outdoor-air', fog).humidity)).toEqual([]);
  });

  test('never behind a lining or at a surface, where it may be the trouble that is looked for', () => {
    const wet = hours(120, (i) => [3 + i / 10, 3.2 + i / 10, 100, 100]);
    for (const kind of ['behind-lining', 'ceiling-surface'] as const) {
      expect(marked(doubtfulHours(kind, wet).humidity)).toEqual([]);
    }
  });

  test('missing hours are no repetition', () => {
    const none = hours(60, () => [Number.NaN, Number.NaN, Number.NaN, Number.NaN]);
    expect(marked(doubtfulHours('loft-air', none).temperature)).toEqual([]);
  });
});
