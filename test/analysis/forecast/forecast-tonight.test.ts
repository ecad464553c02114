import { describe, expect, it } from 'vitest';
import { forecastTonight } from '../../../server/analysis/forecast/forecast-tonight.ts';
import { tonight } from '../../../server/analysis/forecast/night.ts';
import { forecastSettings } from '../../../server/analysis/forecast/settings.ts';
import type { ForecastInput, NightForecast } from '../../../server/analysis/forecast/tonight-forecast.ts';
import { HOUR_MS } from '../../../server/analysis/vocabulary.ts';
import { madeInput, otherwiseFrom, START } from './made-night.ts';

const EVENING = Date.parse('2026-01-20T18:00:00Z');

function forecast(input: ForecastInput): NightForecast {
  const result = forecastTonight(input);
  if (result.kind !== 'forecast') throw new Error(`no forecast: ${JSON.stringify(result.reasons)}`);
  return result;
}

describe('tonight', () => {
  it('is the night that comes by day, and the one that runs from 18:00 to 08:00 local time', () => {
    const at = (time: string) => tonight(Date.parse(time), 'Europe/London').date;
    expect(at('2026-01-20T07:59:00Z')).toBe('2026-01-19');
    expect(at('2026-01-20T08:00:00Z')).toBe('2026-01-20');
    expect(at('2026-01-20T23:00:00Z')).toBe('2026-01-20');
  });

  it('lasts 13 hours when clocks go forward and 15 when they go back', () => {
    const hours = (time: string): number => {
      const { from, to } = tonight(Date.parse(time), 'Europe/London');
      return (to - from) / HOUR_MS;
    };
    expect(hours('2026-03-28T15:00:00Z')).toBe(13);
    expect(hours('2026-10-24T15:00:00Z')).toBe(15);
  });
});

describe("tonight's forecast", () => {
  it('gives a chance, a lowest margin inside its interval, and an hour inside the night', () => {
    for (let day = 0; day < 10; day++) {
      for (const hour of [0, 5, 9, 12, 18, 22]) {
        const now = EVENING + (day * 24 + hour - 18) * HOUR_MS;
        const { chance, minimumMargin, at, night } = forecast(madeInput(now));
        expect(chance).toBeGreaterThanOrEqual(0);
        expect(chance).toBeLessThanOrEqual(1);
        expect(minimumMargin.low).toBeLessThanOrEqual(minimumMargin.value);
        expect(minimumMargin.value).toBeLessThanOrEqual(minimumMargin.high);
        expect(at).toBeGreaterThanOrEqual(night.from);
        expect(at).toBeLessThan(night.to);
      }
    }
  });

  it('looks at nothing that comes after the moment it is made: changing the future changes nothing', () => {
    for (const now of [EVENING, EVENING - 6 * HOUR_MS, EVENING + 5.5 * HOUR_MS]) {
      const input = madeInput(now);
      const hour = Math.floor(now / HOUR_MS) * HOUR_MS;
      for (const change of [(value: number) => value + 7, () => Number.NaN, (_: number, i: number) => (i * 37) % 19]) {
        const other = {
          ...input,
          surface: otherwiseFrom(input.surface, hour, change),
          room: otherwiseFrom(input.room, hour, change),
          cold: otherwiseFrom(input.cold, hour, change),
        };
        expect(forecastTonight(other)).toEqual(forecastTonight(input));
      }
    }
  });

  it('does see a change of the hour before', () => {
    const input = madeInput(EVENING);
    const damper = { ...input, room: otherwiseFrom(input.room, EVENING - 2 * HOUR_MS, (value) => value * 1.2) };
    expect(forecast(damper).minimumMargin.value).toBeLessThan(forecast(input).minimumMargin.value);
  });

  it('uses no outdoor forecast that had not been received yet', () => {
    const hours = 48;
    const feed = {
      issued: EVENING - HOUR_MS,
      from: EVENING - HOUR_MS,
      temperature: new Float64Array(hours).fill(-15),
      vapourPressure: new Float64Array(hours).fill(150),
    };
    const without = forecast(madeInput(EVENING));
    const late = forecast(madeInput(EVENING, { feeds: [{ ...feed, received: EVENING + HOUR_MS }] }));
    expect(late).toEqual(without);
    const inTime = forecast(madeInput(EVENING, { feeds: [{ ...feed, received: EVENING - HOUR_MS }] }));
    expect(inTime.basis).toBe('forecast-feed');
    expect(inTime.working.feedIssued).toBe(feed.issued);
    expect(inTime.minimumMargin.value).toBeLessThan(without.minimumMargin.value);
  });

  it('leaves a stale outdoor forecast alone and says so', () => {
    const issued = EVENING - (forecastSettings.staleFeedHours + 1) * HOUR_MS;
    const column = new Float64Array(96).fill(-15);
    const feed = { issued, received: issued, from: issued, temperature: column, vapourPressure: column.map(() => 150) };
    const result = forecast(madeInput(EVENING, { feeds: [feed] }));
    expect(result.basis).toBe('own-outdoor');
    expect(result.working).toMatchObject({ feedIssued: null, staleFeedIssued: issued });
  });

  it('is certain once an hour of the night had a margin at or below 0', () => {
    const input = madeInput(EVENING + 4 * HOUR_MS);
    const surface = otherwiseFrom(input.surface, EVENING + HOUR_MS, () => -0.1);
    const result = forecast({ ...input, surface });
    expect(result.chance).toBe(1);
    expect(result.minimumMargin.value).toBeLessThanOrEqual(-0.1);
  });

  it('is less sure of the lowest margin where the sensors are less sure', () => {
    const width = ({ minimumMargin: { low, high } }: NightForecast): number => high - low;
    const input = madeInput(EVENING);
    const sure = { ...input.uncertainty.surface, temperatureOffsetK: 0, humidityOffsetPct: 0 };
    const unsure = { ...sure, temperatureOffsetK: 1, humidityOffsetPct: 3 };
    const of = (one: typeof sure) => forecast({ ...input, uncertainty: { surface: one, room: one, cold: one } });
    expect(width(of(unsure))).toBeGreaterThan(width(of(sure)));
  });

  it('is called loft-referenced where the loft stands for the cold side', () => {
    expect(forecast(madeInput(EVENING, { coldIs: 'loft' })).basis).toBe('loft-referenced');
  });
});

describe('a forecast that knows too little says what is missing', () => {
  const reasons = (input: ForecastInput): string[] => {
    const result = forecastTonight(input);
    return result.kind === 'not-enough' ? result.reasons.map(({ code }) => code) : [];
  };
  const gone = (): number => Number.NaN;

  it('a surface, room or cold side that has fallen silent', () => {
    const input = madeInput(EVENING);
    const from = EVENING - forecastSettings.silentHours * HOUR_MS;
    expect(reasons({ ...input, surface: otherwiseFrom(input.surface, from, gone) })).toEqual(['surface-silent']);
    expect(reasons({ ...input, room: otherwiseFrom(input.room, from, gone) })).toEqual(['room-silent']);
    expect(reasons({ ...input, cold: otherwiseFrom(input.cold, from, gone) })).toEqual(['cold-side-silent']);
    const vapourPressure = new Float64Array(input.room.temperature.length).fill(Number.NaN);
    expect(reasons({ ...input, room: { ...input.room, vapourPressure } })).toEqual(['humidity-missing']);
  });

  it('too few nights since the first hour, and since the works', () => {
    expect(reasons(madeInput(START + 8.75 * 24 * HOUR_MS))).toEqual(['few-nights']);
    const works = { from: Number.NEGATIVE_INFINITY, to: EVENING - 5 * 24 * HOUR_MS };
    expect(reasons(madeInput(EVENING, { leftOut: [works] }))).toEqual(['few-nights']);
  });
});
