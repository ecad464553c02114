import { describe, expect, it } from 'vitest';
import { assess } from '../../server/analysis/assess.ts';
import { byEnglish } from '../../web/src/words/by-english.ts';
import { deFindingRules } from '../../web/src/words/de-finding-rules.ts';
import { deTerms } from '../../web/src/words/de-terms.ts';
import { deWorkings } from '../../web/src/words/de-workings.ts';
import { air, anotherSurface, HOUR_MS, madeInput, placeOf } from '../analysis/made-hours.ts';

/** A home in which everything is watched, so that every figure an assessment can have is there. */
function workings() {
  const input = madeInput({ factorBefore: 0.55, factorAfter: 0.85 });
  const { start, temperature } = input.outdoor!.hours;
  const timber = { ...input.outdoor!.hours, timberMoisture: temperature.map(() => 16) };
  const warmer = (hour: number) => temperature[hour - start / HOUR_MS]! + 1;
  const loft = air(start, temperature.length, warmer, () => 80);
  return assess({
    ...input,
    loftAir: placeOf('Loft', 'loft-air', loft),
    loftTimber: placeOf('Rafter', 'loft-timber', timber),
    control: anotherSurface(input, 'Flat ceiling', 'control-surface', 0.9, 0.9),
    behind: placeOf('Behind', 'behind-lining', loft),
    otherSurfaces: [anotherSurface(input, 'Edge', 'ceiling-surface', 0.5, 0.7)],
  }).working;
}

describe('how figures were worked out, in German', () => {
  const figures = workings();
  const german = byEnglish([...deTerms, ...deWorkings, ...deFindingRules], (value, places) => value.toFixed(places));

  it('has a text for every formula, name, uncertainty and source of every figure', () => {
    expect(figures.length).toBeGreaterThan(40);
    const asked = figures.flatMap(({ formula, inputs, uncertainty, source }) => [
      formula,
      ...inputs.map(({ name }) => name),
      uncertainty,
      source,
    ]);
    expect([...new Set(asked)].filter((text) => german(text) === null)).toEqual([]);
    const english = /\b(the|of|is|are|with|by|for|which|not|hours|surface|middle)\b/;
    expect([...new Set(asked.map((text) => german(text)!))].filter((text) => english.test(text))).toEqual([]);
  });
});
