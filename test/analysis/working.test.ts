import { describe, expect, test } from 'vitest';
import { assess } from '../../server/analysis/assess.ts';
import type { Assessment, Estimate, Working } from '../../server/analysis/assessment.ts';
import { beginsWinter } from '../../server/analysis/winters.ts';
import { air, anotherSurface, DAY_MS, HOUR_MS, madeInput, placeOf } from './made-hours.ts';

/** A home in which everything is watched, so that every figure an assessment can have is there. */
function everything(): Assessment {
  const input = madeInput({ factorBefore: 0.55, factorAfter: 0.85 });
  const { start, temperature } = input.outdoor!.hours;
  const timber = { ...input.outdoor!.hours, timberMoisture: temperature.map(() => 16) };
  const loft = air(
    start,
    temperature.length,
    (hour) => temperature[hour - start / HOUR_MS]! + 1,
    () => 80,
  );
  return assess({
    ...input,
    loftAir: placeOf('Loft', 'loft-air', loft),
    loftTimber: placeOf('Rafter', 'loft-timber', timber),
    control: anotherSurface(input, 'Flat ceiling', 'control-surface', 0.9, 0.9),
    behind: placeOf('Behind', 'behind-lining', loft),
    otherSurfaces: [anotherSurface(input, 'Edge', 'ceiling-surface', 0.5, 0.7)],
  });
}

const isEstimate = (value: object): value is Estimate =>
  Object.keys(value).length === 3 && 'value' in value && 'low' in value && 'high' in value;

/** Paths of all figures with an interval, and of the plain ones that the screen shows. */
function figuresIn(value: unknown, path = ''): string[] {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) return [];
  if (isEstimate(value)) return [path];
  return Object.entries(value).flatMap(([key, part]) => {
    const at = path === '' ? key : `${path}.${key}`;
    return Array.isArray(part)
      ? part.flatMap((one, i) => figuresIn(one, `${at}.${i}`))
      : /^conditions\.(before|after)$/.test(path) && typeof part === 'number' && !/Pressure|Hours$/.test(key)
        ? [at]
        : figuresIn(part, at);
  });
}

const workingOf = (working: readonly Working[], path: string): Working | undefined =>
  working.find(({ figure }) => path === figure || path.startsWith(`${figure}.`));

describe('how every figure was worked out', () => {
  const result = everything();
  const { working, ...rest } = result;
  // `working` of a phase and of the control is itself an answer, not a figure.
  const paths = figuresIn(rest).filter((path) => !/working|treatedChange/i.test(path));

  test('is answered for every figure with an interval and every condition of both phases', () => {
    expect(paths.length).toBeGreaterThan(40);
    for (const path of paths) {
      const own = workingOf(working, path);
      expect(own, path).toBeDefined();
      expect(own!.formula.length, path).toBeGreaterThan(10);
      expect(own!.inputs.length, path).toBeGreaterThan(0);
      expect(own!.uncertainty, path).toMatch(/\.$/);
      expect(own!.source.length, path).toBeGreaterThan(5);
    }
  });

  test('is answered for what the verdict and each of its reasons rest on', () => {
    const { reasons, reasonFigures, statementFigures } = result.verdict;
    expect(reasonFigures).toHaveLength(reasons.length);
    expect(reasonFigures.every((figures) => figures.length > 0)).toBe(true);
    for (const path of [...statementFigures, ...reasonFigures.flat()])
      expect(workingOf(working, path), path).toBeDefined();
  });

  test('is answered for findings, also where nothing can be compared', () => {
    const thin = assess({ ...madeInput({ afterDays: 3 }), control: null });
    expect(thin.verdict.kind).toBe('not-enough-evidence');
    expect(thin.sufficiency.findings.length).toBeGreaterThan(2);
    thin.sufficiency.findings.forEach((_, i) => {
      expect(workingOf(thin.working, `sufficiency.findings.${i}`)?.inputs.length).toBeGreaterThan(0);
    });
    for (const path of [...thin.verdict.statementFigures, ...thin.verdict.reasonFigures.flat()]) {
      expect(workingOf(thin.working, path), path).toBeDefined();
    }
  });

  const input = (path: string, name: string): number =>
    Number(workingOf(working, path)!.inputs.find((one) => one.name === name)!.value);

  test('gives back f by the division shown', () => {
    for (const phase of ['before', 'after'] as const) {
      const path = `${phase}.f`;
      // nine digits are kept of each
      expect(input(path, 'mean surface - cold side') / input(path, 'mean room - cold side')).toBeCloseTo(
        result[phase]!.f!.value,
        7,
      );
    }
  });

  test('gives back differences and shares by the arithmetic shown', () => {
    expect(input('change', 'f after') - input('change', 'f before')).toBeCloseTo(result.change!.value, 8);
    expect(input('riskHours.avoided', 'expected') - input('riskHours.avoided', 'measured')).toBeCloseTo(
      result.riskHours.avoided!.value,
      5,
    );
    const overlap = 'conditions.overlap';
    expect(input(overlap, 'hours after within them') / input(overlap, 'hours after')).toBeCloseTo(
      result.conditions.overlap!,
      8,
    );
  });
});

describe('curves by the day', () => {
  // 20 August to 8 November: the 1st of October lies within the phase that is measured before
  const shift = Date.parse('2024-11-20T00:00:00Z') - Date.parse('2024-08-20T00:00:00Z');
  const made = madeInput({ beforeDays: 80 });
  const moved = <T extends { readonly hours: { readonly start: number } }>(place: T): T => ({
    ...place,
    hours: { ...place.hours, start: place.hours.start - shift },
  });
  const result = assess({
    ...made,
    surface: moved(made.surface),
    room: moved(made.room),
    outdoor: moved(made.outdoor!),
    before: { from: made.before!.from - shift, to: made.before!.to - shift },
    after: { from: made.after!.from - shift, to: made.after!.to - shift },
  });

  test('of risk hours begin anew on the 1st of October, and lose none', () => {
    const { day, measured } = result.cumulativeRiskHours.before!;
    const october = day.indexOf(Date.UTC(2024, 9, 1));
    expect(october).toBeGreaterThan(0);
    expect(measured[october]!).toBeLessThanOrEqual(24);
    expect(measured[october - 1]! + measured.at(-1)!).toBe(result.riskHours.before!.value);
  });

  test('of what would have been lie within their band and end, over the winters, at the count expected', () => {
    const { day, expected, expectedLow, expectedHigh } = result.cumulativeRiskHours.after!;
    expect(day).toHaveLength(expected!.length);
    expected!.forEach((value, i) => {
      expect(expectedLow![i]!).toBeLessThanOrEqual(value);
      expect(expectedHigh![i]!).toBeGreaterThanOrEqual(value);
    });
    expect(expected!.at(-1)!).toBeCloseTo(result.riskHours.expectedAfterWithoutWorks!.value, 5);
  });

  test('of the mould index reach the highest index that is given as a figure', () => {
    const { before, after } = result.mouldIndexByDay;
    const { day, measured } = before!;
    expect(measured).toHaveLength(day.length);
    // growth ends with a day only by chance: the highest of the ends of days lies no more than a day's growth under it
    expect(Math.max(...measured)).toBeLessThanOrEqual(result.mouldIndex.before!.value + 1e-9);
    expect(Math.max(...measured)).toBeGreaterThan(result.mouldIndex.before!.value - 0.1);
    expect(after!.expected).toHaveLength(after!.day.length);
  });

  test('know the 1st of October by the calendar', () => {
    const days = Array.from({ length: 3 * 366 }, (_, i) => Math.round(Date.UTC(2023, 0, 1) / DAY_MS) + i);
    expect(days.filter(beginsWinter).map((day) => new Date(day * DAY_MS).toISOString().slice(0, 10))).toEqual([
      '2023-10-01',
      '2024-10-01',
      '2025-10-01',
    ]);
  });
});
