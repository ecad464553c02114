import { describe, expect, test } from 'vitest';
import { localNights } from '../../server/analysis/local-nights.ts';
import { HOUR_MS } from './made-hours.ts';

const times = { nightFrom: 18, nightTo: 8, settleHours: 4 };

/** Hours of each night over a run of days. */
function lengths(from: string, hours: number, zone: string): number[] {
  const { night, nights } = localNights(Date.parse(from), hours, zone, times);
  const out = new Array<number>(nights).fill(0);
  for (const one of night) if (one >= 0) out[one]! += 1;
  return out;
}

describe('local nights from 18:00 to 08:00', () => {
  test('have fourteen hours, thirteen when clocks go forward and fifteen when they go back', () => {
    // clocks in the United Kingdom change at 01:00 UTC on the last Sundays of March and October
    expect(lengths('2026-03-27T12:00:00Z', 4 * 24 - 1, 'Europe/London')).toEqual([14, 13, 14, 14]);
    expect(lengths('2026-10-23T11:00:00Z', 4 * 24 + 1, 'Europe/London')).toEqual([14, 15, 14, 14]);
  });

  test('begin at local nightfall, west and east of Greenwich', () => {
    for (const [zone, utcHour] of [
      ['America/New_York', 23],
      ['Asia/Tokyo', 9],
      ['UTC', 18],
    ] as const) {
      const start = Date.parse('2026-01-10T00:00:00Z');
      const { night } = localNights(start, 72, zone, times);
      const begins = night.findIndex((value, i) => value >= 0 && i > 0 && night[i - 1] === -1);
      expect(new Date(start + begins * HOUR_MS).getUTCHours()).toBe(utcHour);
    }
  });

  test('begin on the first hour from 18:00 on, end before 08:00, and are known by the day on which they began', () => {
    const start = Date.parse('2026-01-14T16:00:00Z');
    const { night, firstNight } = localNights(start, 18, 'Europe/London', times);
    expect(Array.from(night)).toEqual([-1, -1, ...Array(14).fill(0), -1, -1]);
    expect(new Date(firstNight * 24 * HOUR_MS).toISOString().slice(0, 10)).toBe('2026-01-14');
  });

  test('are settled from four hours after nightfall to an hour before their end', () => {
    const { settled } = localNights(Date.parse('2026-01-10T12:00:00Z'), 24, 'UTC', times);
    const first = settled.indexOf(1);
    expect(first).toBe(10);
    expect(settled.reduce((sum, one) => sum + one, 0)).toBe(9);
  });
});
