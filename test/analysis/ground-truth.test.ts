/**
 * The assessment against planted truth: 200 seeded cases of a modelled ceiling under real weather and real living, seen
 * through sensors with drawn errors, and 60 dwellings with one cause. The figures to be reached are the project's own
 * promises; the same cases, 1000 of them, are run by the bench.
 */
import { beforeAll, describe, expect, test } from 'vitest';
import { assess } from '../../server/analysis/assess.ts';
import { calibratedSensors } from '../../server/simulate/ceiling-case.ts';
import { drawOneCause, inputOf, openDataIsHere, readHouses, shopSensors } from './ceiling-cases.ts';
import { runCases, type Score } from './scored-cases.ts';

if (!openDataIsHere)
  console.warn('left out: ground truth of the assessment needs ../shared/open-data beside the project');

describe.skipIf(!openDataIsHere)('planted truth under real weather and living', { timeout: 600_000 }, () => {
  const houses = openDataIsHere ? readHouses() : [];
  let works: Score;
  let nothingDone: Score;
  let halfToCured: Score;

  beforeAll(() => {
    works = runCases(houses, 'works', calibratedSensors, 0, 70);
    nothingDone = runCases(houses, 'nothing-done', shopSensors, 1000, 80);
    halfToCured = runCases(houses, 'half-to-cured', shopSensors, 2000, 50);
  }, 900_000);

  test('95 % intervals of f hold the truth in 92 to 98 % of 200 cases, before and after', () => {
    const scores = [works, nothingDone, halfToCured];
    const coverage = scores.reduce((sum, score) => sum + score.coverage * score.cases, 0) / 200;
    expect(coverage).toBeGreaterThanOrEqual(0.92);
    expect(coverage).toBeLessThanOrEqual(0.98);
  });

  test('f is unbiased within 0.01 and avoided risk hours are right within a tenth in the median of 70 lined ceilings', () => {
    expect(Math.abs(works.bias)).toBeLessThan(0.01);
    expect(works.avoided.cases).toBeGreaterThan(40);
    expect(Math.abs(works.avoided.medianError)).toBeLessThan(0.1);
    expect(works.avoided.medianSize).toBeLessThan(0.1);
    // 95 % of about 60 intervals less three binomial deviations
    expect(works.avoided.coverage).toBeGreaterThan(0.865);
    expect(works.metOrBetter).toBeGreaterThan(0.95);
  });

  test('80 ceilings to which nothing was done: none is called better, whatever weather, living and drift did', () => {
    expect(nothingDone.metOrBetter).toBeLessThan(0.01);
    expect(nothingDone.worse).toBeLessThan(0.02);
  });

  test('50 ceilings from f 0.55 to 0.85 with three winter weeks each side: the change is seen in 95 %', () => {
    expect(halfToCured.metOrBetter).toBeGreaterThanOrEqual(0.95);
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
