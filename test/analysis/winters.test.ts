import { describe, expect, it } from 'vitest';
import type { PlaceHours } from '../../server/analysis/place-hours.ts';
import { winterTallies } from '../../server/analysis/winters.ts';

function surfaceHours(start: number, humidity: number[], margin: number[]): PlaceHours {
  const nothing = new Float64Array(humidity.length).fill(Number.NaN);
  return {
    start,
    temperature: new Float64Array(humidity.length).fill(10),
    humidity: nothing,
    vapourPressure: nothing,
    surfaceHumidity: Float64Array.from(humidity),
    margin: Float64Array.from(margin),
    marginLow: Float64Array.from(margin),
    timberMoisture: nothing,
    co2: nothing,
  };
}

describe('a winter', () => {
  it('begins at local midnight on 1 October, summer time or not', () => {
    // 1 October 2025 00:00 in London is 23:00 UTC the day before
    const start = Date.UTC(2025, 8, 30, 22);
    const [last, next] = winterTallies(surfaceHours(start, [85, 85, 85], [1, 1, 1]), 'Europe/London');
    expect(last).toMatchObject({ name: '2024/25', riskHours: 1 });
    expect(next).toMatchObject({ name: '2025/26', riskHours: 2, start: Date.UTC(2025, 8, 30, 23) });
  });

  it('adds risk hours up day by day and carries them over days without data', () => {
    const start = Date.UTC(2025, 10, 1);
    const humidity = [...Array(24).fill(85), ...Array(24).fill(Number.NaN), ...Array(24).fill(70)];
    const [winter] = winterTallies(
      surfaceHours(
        start,
        humidity,
        humidity.map(() => 2),
      ),
      'Europe/London',
    );
    const day = 31; // 1 November is day 31 after 1 October
    expect(winter!.cumulativeRiskHours.slice(day, day + 3)).toEqual([24, 24, 24]);
    expect(winter!.cumulativeRiskHours.slice(0, day)).toEqual(Array(day).fill(0));
    expect(winter!.cumulativeRiskHours).toHaveLength(day + 3);
  });

  it('counts one condensation night for hours before and after the same midnight', () => {
    const start = Date.UTC(2026, 0, 14, 22);
    const margin = [-1, -1, 1, 1, -1, 1];
    const [winter] = winterTallies(
      surfaceHours(
        start,
        margin.map(() => 70),
        margin,
      ),
      'Europe/London',
    );
    expect(winter).toMatchObject({ condensationHours: 3, condensationNights: 1, validHours: 6 });
  });

  it('has the nights that begin in it: one that begins on 30 September is of the winter before', () => {
    const start = Date.UTC(2025, 8, 30, 20); // 21:00 in London
    const margin = [1, 1, 1, -1, ...Array(16).fill(1)];
    const humidity = margin.map(() => 70);
    const tallies = winterTallies(surfaceHours(start, humidity, margin), 'Europe/London');
    expect(tallies.map(({ name, condensationNights }) => [name, condensationNights])).toEqual([
      ['2024/25', 1],
      ['2025/26', 0],
    ]);
  });

  it('does not count an hour that is not known', () => {
    expect(winterTallies(surfaceHours(Date.UTC(2026, 0, 1), [Number.NaN], [Number.NaN]), 'Europe/London')).toEqual([]);
  });

  it('of an unknown zone is refused', () => {
    expect(() => winterTallies(surfaceHours(0, [80], [1]), 'Mars/Olympus')).toThrow(/IANA/);
  });
});
