/**
 * The assessment against planted truth: 200 seeded cases of a modelled ceiling under real weather and real living, seen
 * through sensors with drawn errors, and 60 dwellings with one cause. The figures to be reached are the project's own
 * promises; the same cases, 1000 of them, are run by the bench.
 */
import { describe, expect, test } from 'vitest';
import { assess } from '../../server/analysis/assess.ts';
import { calibratedSensors } from '../../server/simulate/ceiling-case.ts';
import { drawOneCause, inputOf, openDataIsHere, readHouses, shopSensors } from './ceiling-cases.ts';
import { runCases } from './scored-cases.ts';

if (!openDataIsHere)
  console.warn('left out: ground truth of the assessment needs ../shared/open-data beside the project');

describe.skipIf(!openDataIsHere)('planted truth under real weather and living', { timeout: 600_000 }, () => {
  const houses = openDataIsHere ? readHouses() : [];

  test('70 lined ceilings: intervals of f hold the truth in 92 to 98 %, f is unbiased, avoided hours are right', () => {
    const score = runCases(houses, 'works', calibratedSensors, 0, 70);
    // 140 intervals: three binomial deviations of 95 % are 5.5 points; the promise is tested sharply by the bench
    expect(score.coverage).toBeGreaterThan(0.895);
    expect(Math.abs(score.bias)).toBeLessThan(0.01);
    expect(score.avoided.cases).toBeGreaterThan(40);
    expect(Math.abs(score.avoided.medianError)).toBeLessThan(0.1);
    expect(score.avoided.coverage).toBeGreaterThan(0.85);
    expect(score.metOrBetter).toBeGreaterThan(0.95);
  });

  test('80 ceilings to which nothing was done: none is called better, whatever weather, living and drift did', () => {
    const score = runCases(houses, 'nothing-done', shopSensors, 1000, 80);
    expect(score.metOrBetter).toBeLessThan(0.01);
    expect(score.worse).toBeLessThan(0.02);
    expect(score.coverage).toBeGreaterThan(0.9);
  });

  test('50 ceilings from f 0.55 to 0.85 with three winter weeks each side: the change is seen in 95 %', () => {
    const score = runCases(houses, 'half-to-cured', shopSensors, 2000, 50);
    expect(score.metOrBetter).toBeGreaterThanOrEqual(0.94);
  });

  test.each(['fabric', 'moisture', 'heating'] as const)('20 dwellings with one cause: %s leads', (cause) => {
    let leads = 0;
    for (let seed = 0; seed < 20; seed++) {
      const one = drawOneCause(houses, cause, calibratedSensors, seed);
      const { causes } = assess({ ...inputOf(one, seed), after: null });
      if (causes === null) continue;
      const shares = [causes.fabric.value, causes.moisture.value, causes.heating.value];
      if (causes[cause].value === Math.max(...shares)) leads += 1;
    }
    expect(leads).toBeGreaterThanOrEqual(19);
  });
});
