import { describe, expect, it } from 'vitest';
import { brierScore, type Scored, scoreForecasts, skill } from '../../../server/analysis/forecast/score.ts';

const night = (chance: number, wet: boolean, wetBefore: boolean | null = null): Scored => ({ chance, wet, wetBefore });

/**
 * The ten forecasts of rain in Brier's own example, and whether it rained. The printed score is P = 0.19, summed over both
 * outcomes (rain, no rain): twice the score for one outcome that is used today.
 *
 * @source Brier (1950), Verification of forecasts expressed in terms of probability, Monthly Weather Review 78, 1-3
 * (figures from memory; they give the printed P)
 */
const brierExample = [0.7, 0.9, 0.8, 0.4, 0.2, 0, 0, 0, 0, 0.1].map((chance, k) =>
  night(chance, [1, 2, 3].includes(k)),
);

describe('the Brier score', () => {
  it("of Brier's own example is half his P of 0.19", () => {
    expect(brierScore(brierExample)).toBeCloseTo(0.19 / 2, 12);
  });

  it('of always saying one half is a quarter, of perfect forecasts 0 and of reversed ones 1', () => {
    const nights = [true, false, false, true];
    expect(brierScore(nights.map((wet) => night(0.5, wet)))).toBe(0.25);
    expect(brierScore(nights.map((wet) => night(wet ? 1 : 0, wet)))).toBe(0);
    expect(brierScore(nights.map((wet) => night(wet ? 0 : 1, wet)))).toBe(1);
    expect(brierScore([])).toBeNull();
  });

  it('is reliability less resolution plus uncertainty of the reliability table', () => {
    // Murphy (1973), A new vector partition of the probability score, J. Applied Meteorology 12, 595-600
    const forecasts = [0.05, 0.05, 0.25, 0.25, 0.25, 0.25, 0.65, 0.65, 0.65, 0.95].map((chance, k) =>
      night(chance, [3, 6, 7, 9].includes(k)),
    );
    const { reliability, nights, condensationNights, brier } = scoreForecasts(forecasts);
    const rate = condensationNights / nights;
    let parts = rate * (1 - rate);
    for (const bin of reliability) {
      if (bin.meanChance === null || bin.rate === null) continue;
      parts += (bin.nights / nights) * ((bin.meanChance - bin.rate) ** 2 - (bin.rate - rate) ** 2);
    }
    expect(brier).toBeCloseTo(parts, 12);
    expect(reliability.reduce((sum, bin) => sum + bin.nights, 0)).toBe(10);
  });
});

describe('skill', () => {
  it('against the season is that of Murphy: 1 - score / (rate (1 - rate))', () => {
    // worked by hand from Brier's example: rate 0.3, reference 0.21, skill 1 - 0.095 / 0.21
    expect(scoreForecasts(brierExample).skillAgainstSeason).toBeCloseTo(1 - 0.095 / 0.21, 12);
    expect(scoreForecasts([0, 0, 0].map((_, k) => night(1 / 3, k === 0))).skillAgainstSeason).toBeCloseTo(0, 12);
  });

  it('against last night counts only nights whose night before is known', () => {
    const scored = [night(0.2, false), night(0.2, true, false), night(0.8, true, true), night(0.4, false, true)];
    // by hand: own (0.64 + 0.04 + 0.16) / 3, reference (1 + 0 + 1) / 3
    expect(scoreForecasts(scored).skillAgainstLastNight).toBeCloseTo(1 - 0.84 / 2, 12);
  });

  it('cannot be said against a reference that was never wrong', () => {
    expect(skill(0.1, 0)).toBeNull();
    expect(scoreForecasts([night(0.9, true), night(0.8, true)]).skillAgainstSeason).toBeNull();
  });
});

describe('warnings', () => {
  it("have the recall and the precision of Finley's tornado warnings", () => {
    // Finley (1884) as counted in Murphy (1996), Weather and Forecasting 11, 3-20 (from memory): 28 hits, 72 false alarms,
    // 23 missed, 2680 rightly quiet; probability of detection 0.549, false alarm ratio 0.720
    const of = (count: number, chance: number, wet: boolean) => Array.from({ length: count }, () => night(chance, wet));
    const { recall, precision, warnings, hits } = scoreForecasts(
      [...of(28, 1, true), ...of(72, 1, false), ...of(23, 0, true), ...of(2680, 0, false)],
      0.5,
    );
    expect(recall).toBeCloseTo(0.549, 3);
    expect(1 - precision!).toBeCloseTo(0.72, 3);
    expect(warnings).toBe(100);
    expect(hits).toBe(28);
  });

  it('are given from the warning level on, that level included', () => {
    expect(scoreForecasts([night(0.3, true), night(0.29, true)], 0.3)).toMatchObject({ warnings: 1, recall: 0.5 });
  });

  it('have neither where there was nothing to warn of or no warning', () => {
    expect(scoreForecasts([night(0.1, false)])).toMatchObject({ recall: null, precision: null });
  });
});

describe('whether the nights are enough to judge by', () => {
  const nights = (count: number, wet: number) => Array.from({ length: count }, (_, k) => night(0.2, k < wet));

  it.each([
    ['none', 0, 0],
    ['few-nights', 29, 29],
    ['few-condensation-nights', 200, 4],
    ['enough', 30, 5],
  ] as const)('is answered with %s for %i nights, %i of them with condensation', (standing, count, wet) => {
    expect(scoreForecasts(nights(count, wet)).standing).toBe(standing);
  });

  it('or not, shares carry what they may be off by: a night of one says next to nothing', () => {
    const { recall, recallRange } = scoreForecasts([night(0.9, true)]);
    expect(recall).toBe(1);
    expect(recallRange!.low).toBeLessThan(0.25);
    expect(recallRange!.high).toBe(1);
  });
});
