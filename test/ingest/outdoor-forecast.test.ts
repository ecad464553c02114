import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readOutdoorForecast } from '../../server/ingest/outdoor-forecast.ts';

const NOW = Date.parse('2026-01-14T12:05:00Z');
const bytes = (value: unknown): Uint8Array => new TextEncoder().encode(JSON.stringify(value));
const hour = (time: string, rest: object = { temperature_c: 10, humidity_pct: 100 }) => ({ time, ...rest });
const good = { issued: '2026-01-14T12:00:00Z', hours: [hour('2026-01-14T13:00:00Z')] };

function read(value: unknown) {
  const result = readOutdoorForecast(bytes(value), NOW);
  if (result.kind === 'rejected') throw new Error(result.fault.message);
  return result;
}

function fault(value: unknown): string {
  const result = readOutdoorForecast(bytes(value), NOW);
  return result.kind === 'rejected' ? result.fault.message : 'taken';
}

describe('an outdoor forecast', () => {
  it('is read hour by hour, in any order and with any UTC offset, with NaN where it says nothing', () => {
    const { forecast, hours } = read({
      issued: '2026-01-14T13:00:00+01:00',
      hours: [hour('2026-01-14T17:00:00+02:00', { temperature_c: 4, dew_point_c: 0 }), hour('2026-01-14T13:00:00Z')],
    });
    expect(hours).toBe(2);
    expect(forecast).toMatchObject({
      issued: Date.parse('2026-01-14T12:00:00Z'),
      received: NOW,
      from: Date.parse('2026-01-14T13:00:00Z'),
    });
    expect([...forecast.temperature]).toEqual([10, Number.NaN, 4]);
  });

  it('has the vapour pressure of saturated air at the dew point, by either way of saying it', () => {
    // IAPWS steam tables, published: 1228.2 Pa at 10 °C, 872.6 Pa at 5 °C; the ISO 13788 curve lies within 0.15 % of them
    const of = (rest: object): number =>
      read({ ...good, hours: [hour('2026-01-14T13:00:00Z', rest)] }).forecast.vapourPressure[0]!;
    expect(Math.abs(of({ temperature_c: 10, humidity_pct: 100 }) / 1228.2 - 1)).toBeLessThan(0.0015);
    expect(Math.abs(of({ temperature_c: 10, humidity_pct: 50 }) / 614.1 - 1)).toBeLessThan(0.0015);
    expect(Math.abs(of({ temperature_c: 18, dew_point_c: 5 }) / 872.6 - 1)).toBeLessThan(0.0015);
  });

  it('that cannot be used says what is wrong, where, and how it should look', () => {
    const bad: [unknown, string][] = [
      [[], 'the message is an array; it must be an object'],
      [{ hours: good.hours }, '/issued is missing'],
      [{ ...good, issued: '2026-01-14T12:00:00' }, 'does not say which zone it is in'],
      [{ ...good, issued: '2026-01-14T14:00:00Z' }, '/issued lies ahead of now'],
      [{ ...good, hours: [] }, '/hours is an array; it must be an array of 1 to 384 hours'],
      [{ ...good, hours: [hour('2026-01-14T13:30:00Z')] }, '/hours/0/time is not a whole hour'],
      [{ ...good, hours: [good.hours[0], good.hours[0]] }, '/hours/1/time is there twice'],
      [
        { ...good, hours: [hour('2026-01-14T13:00:00Z', { temperature_c: '3', humidity_pct: 8 })] },
        'it must be a number',
      ],
      [
        { ...good, hours: [hour('2026-01-14T13:00:00Z', { temperature_c: 300, humidity_pct: 8 })] },
        'from -60 to 60 °C',
      ],
      [{ ...good, hours: [hour('2026-01-14T13:00:00Z', { temperature_c: 3 })] }, 'either humidity_pct or dew_point_c'],
      [
        { ...good, hours: [hour('2026-01-14T13:00:00Z', { temperature_c: 3, dew_point_c: 9 })] },
        'above the temperature',
      ],
      [{ ...good, hours: [hour('2026-01-14T13:00:00Z'), hour('2026-03-14T13:00:00Z')] }, 'may reach over 384'],
    ];
    for (const [value, words] of bad) {
      expect(fault(value)).toContain(words);
      expect(fault(value)).toContain('Send e.g.');
    }
    expect(readOutdoorForecast(new TextEncoder().encode('{'), NOW)).toMatchObject({ fault: { code: 'not-json' } });
  });

  it('of the example in the README can be used', () => {
    const readme = readFileSync(new URL('../../README.md', import.meta.url), 'utf8');
    const example = /^ {4}\{"issued"[\s\S]*?\]\}$/m.exec(readme)![0];
    expect(read(JSON.parse(example)).hours).toBe(2);
  });

  it('of the example in its own messages can be used', () => {
    const example = /Send e\.g\. (.*)$/.exec(fault([]))![1]!;
    expect(read(JSON.parse(example)).hours).toBe(1);
  });
});
