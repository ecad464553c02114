import { describe, expect, it } from 'vitest';
import { scoreForecasts } from '../../../server/analysis/forecast/score.ts';
import { openDataIsHere, readHouses } from '../ceiling-cases.ts';
import { forecastCase, perfectFeeds, type ScoredNight, scoreNights } from './cases.ts';

if (!openDataIsHere) console.warn('skipped: forecasts of measured houses need ../shared/open-data beside the project');

/** Real weather and living under a modelled ceiling; the whole table is `npm run bench -- forecast`. */
describe.skipIf(!openDataIsHere)('over the winters of a measured house', () => {
  const living = { milder: 6, warmer: -4, moister: 1.2, extraPa: 100 };
  const one = () => forecastCase(readHouses()[1]!, { f: 0.65, mass: 'timber', living }, 60);
  const error = (nights: readonly ScoredNight[]): number =>
    Math.sqrt(nights.reduce((sum, { lowest, margin }) => sum + (lowest - margin.value) ** 2, 0) / nights.length);

  it('the forecasts beat “same as last night” and the winter’s own rate, and a true outdoor forecast makes them better', () => {
    const { scored, notEnough } = scoreNights(one(), 18);
    expect(scored.length).toBeGreaterThan(150);
    expect(notEnough).toBeLessThan(20);
    const { skillAgainstLastNight, skillAgainstSeason } = scoreForecasts(scored);
    expect(skillAgainstLastNight).toBeGreaterThan(0);
    expect(skillAgainstSeason).toBeGreaterThan(0);
    const told = one();
    const withFeed = scoreNights({ ...told, input: { ...told.input, feeds: perfectFeeds(told) } }, 18).scored;
    expect(error(withFeed)).toBeLessThan(error(scored));
    expect(scoreForecasts(withFeed).brier).toBeLessThan(scoreForecasts(scored).brier!);
  }, 180_000);
});
