import fc from 'fast-check';
import { DateTime } from 'luxon';
import { describe, expect, it } from 'vitest';
import {
  dayOfWinter,
  fromInput,
  instantOf,
  localMidnights,
  nights,
  toInput,
  wallOf,
  winterStart,
} from '../../web/src/time/zone.ts';

// Reference: luxon, an independent implementation over the same IANA zones. No tolerance: instants are exact.
const zones = ['Europe/London', 'Europe/Helsinki', 'America/St_Johns', 'Australia/Lord_Howe', 'Asia/Kathmandu', 'UTC'];
const HOUR_MS = 3_600_000;
const instants = fc.integer({ min: Date.UTC(2015, 0, 1), max: Date.UTC(2035, 0, 1) });

describe('local time of the dwelling', () => {
  it('is what luxon says a wall clock shows', () => {
    fc.assert(
      fc.property(fc.constantFrom(...zones), instants, (zone, instant) => {
        const luxon = DateTime.fromMillis(instant, { zone });
        expect(wallOf(zone, instant)).toBe(luxon.setZone('UTC', { keepLocalTime: true }).toMillis());
      }),
    );
  });

  it('leads back to the instant, or to the earlier of two that show the same time', () => {
    fc.assert(
      fc.property(fc.constantFrom(...zones), instants, (zone, instant) => {
        const back = instantOf(zone, wallOf(zone, instant));
        expect(back).toBeLessThanOrEqual(instant);
        expect(wallOf(zone, back)).toBe(wallOf(zone, instant));
      }),
    );
  });

  it('finds the instant of the jump for a time that the clock skips', () => {
    // Europe/London 2026-03-29: 00:59:59 GMT is followed by 02:00:00 BST.
    expect(instantOf('Europe/London', Date.UTC(2026, 2, 29, 1, 30))).toBe(Date.UTC(2026, 2, 29, 1, 0));
  });

  it('has the midnights that luxon has, through both clock changes', () => {
    for (const zone of zones) {
      const from = DateTime.fromISO('2025-10-20T07:00', { zone });
      const to = from.plus({ months: 7 });
      const expected: number[] = [];
      for (let day = from.startOf('day'); day < to; day = day.plus({ days: 1 })) expected.push(day.toMillis());
      expect(localMidnights(zone, from.toMillis(), to.toMillis())).toEqual(expected);
    }
  });

  it('has nights of 14 hours, but 13 and 15 at the clock changes', () => {
    const from = Date.UTC(2026, 2, 27, 12);
    const spring = nights('Europe/London', from, from + 4 * 24 * HOUR_MS, 18, 8);
    expect(spring.map((night) => (night.to - night.from) / HOUR_MS)).toEqual([14, 13, 14, 14]);
    const autumn = nights('Europe/London', Date.UTC(2026, 9, 23, 12), Date.UTC(2026, 9, 26, 12), 18, 8);
    expect(autumn.map((night) => (night.to - night.from) / HOUR_MS)).toEqual([14, 15, 14]);
  });

  it('counts the days of a winter from 1 October, local time', () => {
    expect(winterStart('Europe/London', Date.UTC(2026, 0, 14))).toBe(Date.UTC(2025, 8, 30, 23));
    expect(dayOfWinter('Europe/London', Date.UTC(2025, 8, 30, 23))).toBe(0);
    expect(dayOfWinter('Europe/London', Date.UTC(2025, 11, 25, 12))).toBe(31 + 30 + 24);
  });

  it('comes back from a form field as it went in', () => {
    const instant = Date.UTC(2026, 6, 1, 21, 5);
    expect(toInput('Europe/London', instant)).toBe('2026-07-01T22:05');
    expect(fromInput('Europe/London', '2026-07-01T22:05')).toBe('2026-07-01T21:05:00.000Z');
    expect(fromInput('Europe/London', '')).toBeNull();
  });
});
