import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { assess } from '../../server/analysis/assess.ts';
import type { Assessment, FindingCode } from '../../server/analysis/assessment.ts';
import type { AssessmentInput } from '../../server/analysis/assessment-input.ts';
import { goodnessOfFit } from '../../server/analysis/goodness-of-fit.ts';
import type { PlaceHours } from '../../server/analysis/place-hours.ts';
import { isRiskHour } from '../../server/analysis/risk.ts';
import { air, anotherSurface, DAY_MS, HOUR_MS, madeInput, placeOf, wobble } from './made-hours.ts';

const codes = (result: Assessment, severity?: string): readonly FindingCode[] =>
  result.sufficiency.findings
    .filter((one) => severity === undefined || one.severity === severity)
    .map((one) => one.code);

/** Only rounding of nine digits and of sums over a thousand hours lies between formula and result. */
const EXACT = 8;

describe('a ceiling without heat capacity, whose f is exact in every hour (ISO 13788:2012, 3.1.2)', () => {
  const result = assess(madeInput());

  test('gives back its f in both phases by the ratio and by the slope', () => {
    expect(result.before!.f!.value).toBeCloseTo(0.55, EXACT);
    expect(result.after!.f!.value).toBeCloseTo(0.85, EXACT);
    expect(result.before!.working!.slope!.value).toBeCloseTo(0.55, EXACT);
    expect(result.after!.working!.slope!.value).toBeCloseTo(0.85, EXACT);
    expect(result.before!.working).toMatchObject({ coldLagHours: 0, roomLagHours: 0 });
  });

  test('is expected to have had, without the works, the hours a bare ceiling has in the same weather and living', () => {
    const bare = assess(madeInput({ factorAfter: 0.55 }));
    const truth = bare.riskHours.after!.value;
    expect(truth).toBeGreaterThan(100);
    // the fit is exact and leaves no residual; hours on the very limit may fall either way
    expect(result.riskHours.expectedAfterWithoutWorks!.value).toBeGreaterThanOrEqual(truth - 2);
    expect(result.riskHours.expectedAfterWithoutWorks!.value).toBeLessThanOrEqual(truth + 2);
    expect(result.riskHours.avoided!.value).toBeCloseTo(
      result.riskHours.expectedAfterWithoutWorks!.value - result.riskHours.after!.value,
      6,
    );
  });

  test('has the risk hours that a plain count over its hour records gives', () => {
    const { surface, before } = madeInput();
    let count = 0;
    for (let i = 0; i < (before!.to - before!.from) / HOUR_MS; i++) {
      if (isRiskHour(surface.hours.surfaceHumidity[i]!, surface.hours.temperature[i]!)) count += 1;
    }
    expect(result.riskHours.before!.value).toBe(count);
  });

  test('meets the target, in two sentences and with its working', () => {
    expect(result.verdict.kind).toBe('target-met');
    expect(result.verdict.statement).toMatch(/^Ceiling meets the target of 0\.75: .+\. In the same weather, .+\.$/);
    expect(result.working.map((one) => one.figure)).toContain('before.f');
  });

  test('survives JSON unchanged', () => {
    expect(JSON.parse(JSON.stringify(result))).toEqual(result);
  });
});

describe('constant sensor offsets', () => {
  test('a surface probe that reads 0.5 K warm moves the ratio by 0.5 K over the mean difference and the slope not at all', () => {
    const plain = assess(madeInput());
    const warm = assess(madeInput({ surfaceOffset: () => 0.5 }));
    const difference = warm.before!.working!.meanDifferenceK;
    expect(warm.before!.f!.value - plain.before!.f!.value).toBeCloseTo(0.5 / difference, EXACT);
    expect(warm.before!.working!.slope!.value).toBeCloseTo(0.55, EXACT);
  });

  test('the interval of f is that of uncorrelated offsets of three sensors over the mean difference', () => {
    // s_f = s / dT sqrt(1 + f^2 + (1 - f)^2) for equal s: first-order propagation of f = (Ts - Te)/(Ti - Te)
    const { working, f } = assess(madeInput({ factorBefore: 0.7 })).before!;
    const expected = (0.25 / working!.meanDifferenceK) * Math.sqrt(1 + 0.7 ** 2 + 0.3 ** 2);
    // 1000 draws know a standard deviation to 2.2 %; four of these
    expect(working!.systematicUncertainty / expected).toBeGreaterThan(0.91);
    expect(working!.systematicUncertainty / expected).toBeLessThan(1.1);
    expect((f!.high - f!.low) / 2 / (1.96 * expected)).toBeGreaterThan(0.88);
  });

  test('a probe reading 0.5 K warm from the works on does not turn an unchanged ceiling into a better one', () => {
    const input = madeInput({ factorAfter: 0.55 });
    const change = input.before!.to / HOUR_MS;
    const drifted = assess(madeInput({ factorAfter: 0.55, surfaceOffset: (hour) => (hour < change ? 0 : 0.5) }));
    expect(drifted.verdict.kind).toBe('no-change-shown');
  });
});

describe('published worked figures', () => {
  test('goodness of fit', () => {
    // ASHRAE Guideline 14 definitions; figures computed by hand for these six pairs
    const measured = [100, 120, 130, 110, 90, 60];
    const modelled = [105, 115, 128, 112, 95, 58];
    const errors = measured.map((value, i) => value - modelled[i]!);
    expect(goodnessOfFit(errors, measured, 1).cvRmsePct).toBeCloseTo(4.1029, 3);
    expect(goodnessOfFit(errors, measured, 1).nmbePct).toBeCloseTo(-0.5902, 3);
    expect(goodnessOfFit(errors, measured, 0).cvRmsePct).toBeCloseTo(3.7455, 3);
    expect(goodnessOfFit(errors, measured, 0).nmbePct).toBeCloseTo(-0.4918, 3);
  });

  test('difference in differences: (0.82 - 0.58) - (0.64 - 0.61) = 0.21', () => {
    const input = madeInput({ factorBefore: 0.58, factorAfter: 0.82 });
    const control = anotherSurface(input, 'Flat ceiling', 'control-surface', 0.61, 0.64);
    const result = assess({ ...input, control });
    expect(result.control).toMatchObject({ kind: 'agrees' });
    expect(result.control.kind === 'agrees' && result.control.differenceInDifferences.value).toBeCloseTo(0.21, EXACT);
  });
});

describe('the verdict', () => {
  const kindOf = (input: AssessmentInput): string => assess(input).verdict.kind;

  test('is one of five kinds, as the fabric changed', () => {
    expect(kindOf(madeInput({ factorBefore: 0.5, factorAfter: 0.9 }))).toBe('target-met');
    expect(kindOf(madeInput({ factorBefore: 0.5, factorAfter: 0.65 }))).toBe('better-short-of-target');
    expect(kindOf(madeInput({ factorBefore: 0.6, factorAfter: 0.6 }))).toBe('no-change-shown');
    expect(kindOf(madeInput({ factorBefore: 0.8, factorAfter: 0.6 }))).toBe('worse');
    expect(kindOf({ ...madeInput(), after: null })).toBe('not-enough-evidence');
  });

  test('a ceiling that met the target before and after shows no change, and the sentence says it meets it', () => {
    const { verdict } = assess(madeInput({ factorBefore: 0.88, factorAfter: 0.88 }));
    expect(verdict.kind).toBe('no-change-shown');
    expect(verdict.statement).toContain('meets the target of 0.75 in both phases');
  });

  test('a target may be chosen: 0.70 is met where 0.90 is not', () => {
    const input = madeInput({ factorAfter: 0.8 });
    expect(kindOf({ ...input, target: { f: 0.7, source: 'DIN 4108-2' } })).toBe('target-met');
    expect(kindOf({ ...input, target: { f: 0.9, source: 'chosen' } })).toBe('better-short-of-target');
  });

  test('a milder winter with drier air cures the risk hours and is not called better', () => {
    const input = madeInput({ factorAfter: 0.55 });
    const change = input.before!.to / HOUR_MS;
    const result = assess(
      madeInput({
        factorAfter: 0.55,
        outdoor: (hour) => (hour < change ? 2 : 8) + 3 * Math.sin(hour / 4) + 2 * wobble(Math.floor(hour / 24)),
        roomHumidity: (hour) => (hour < change ? 68 : 45) + 4 * Math.sin(hour / 29),
      }),
    );
    expect(result.riskHours.before!.value).toBeGreaterThan(200);
    expect(result.riskHours.after!.value).toBeLessThan(10);
    expect(result.verdict.kind).toBe('no-change-shown');
  });

  test('a control surface that changed as much takes the improvement away', () => {
    const input = madeInput({ factorBefore: 0.55, factorAfter: 0.7 });
    const control = anotherSurface(input, 'Flat ceiling', 'control-surface', 0.6, 0.75);
    const result = assess({ ...input, control });
    expect(result.control.kind).toBe('disagrees');
    expect(result.verdict.kind).toBe('no-change-shown');
    expect(codes(result)).toContain('control-disagrees');
  });

  test('a cured surface with a wetter loft is worse, and the loft is named first', () => {
    const input = madeInput();
    const change = input.before!.to;
    const loft = (extra: number): PlaceHours => {
      const hours = input.outdoor!.hours;
      const made = air(
        hours.start,
        hours.temperature.length,
        (hour) => hours.temperature[hour - hours.start / HOUR_MS]! + 1.5,
        () => 80,
      );
      const pressure = hours.vapourPressure.map(
        (value, i) => value + 30 + 5 * wobble(i) + (hours.start + i * HOUR_MS < change ? 0 : extra),
      );
      return { ...made, vapourPressure: pressure };
    };
    const wetter = assess({ ...input, loftAir: placeOf('Loft', 'loft-air', loft(120)) });
    expect(wetter.verdict.kind).toBe('worse');
    expect(wetter.verdict.surfaceKind).toBe('target-met');
    expect(wetter.verdict.statement).toMatch(/^Loft got wetter/);
    const same = assess({ ...input, loftAir: placeOf('Loft', 'loft-air', loft(0)) });
    expect(same.verdict.kind).toBe('target-met');
    expect(same.movedTrouble).toMatchObject([{ kind: 'no-worse' }]);
  });

  test('an edge short of the target is named beside a cured middle', () => {
    const input = madeInput();
    const edge = anotherSurface(input, 'Lower edge', 'ceiling-surface', 0.5, 0.65);
    const result = assess({ ...input, otherSurfaces: [edge] });
    expect(result.verdict.kind).toBe('target-met');
    expect(result.movedTrouble).toMatchObject([{ place: 'Lower edge', kind: 'better-short-of-target' }]);
  });

  test('an edge that was not watched before is held to the target without a comparison', () => {
    const input = madeInput();
    const edge = anotherSurface(input, 'Lower edge', 'ceiling-surface', 0.5, 0.62);
    const late = { ...edge, hours: { ...edge.hours, temperature: edge.hours.temperature.map(lateOnly) } };
    function lateOnly(value: number, i: number): number {
      return edge.hours.start + i * HOUR_MS < input.after!.from ? Number.NaN : value;
    }
    const [moved] = assess({ ...input, otherSurfaces: [late] }).movedTrouble;
    expect(moved).toMatchObject({ kind: 'not-enough-evidence', place: 'Lower edge' });
    expect(moved!.statement).toMatch(/f 0\.62 \(.+\) after the works, under the target of 0\.75/);
    expect(moved!.figures[0]!.after!.value).toBeCloseTo(0.62, EXACT);
  });
});

describe('what does not belong to the question does not change the answer', () => {
  const main = (result: Assessment): unknown => {
    const { before, after, change, riskHours, condensationNights, mouldIndex, causes, conditions } = result;
    return { before, after, change, riskHours, condensationNights, mouldIndex, causes, conditions };
  };

  test('further surfaces, in any order, leave every figure of the treated one as it was', () => {
    const input = madeInput();
    const first = anotherSurface(input, 'Edge A', 'ceiling-surface', 0.5, 0.6);
    const second = anotherSurface(input, 'Edge B', 'ceiling-surface', 0.6, 0.8);
    const alone = assess(input);
    const forward = assess({ ...input, otherSurfaces: [first, second] });
    const backward = assess({ ...input, otherSurfaces: [second, first] });
    expect(main(forward)).toEqual(main(alone));
    expect(main(backward)).toEqual(main(alone));
    expect([...backward.movedTrouble].reverse()).toEqual(forward.movedTrouble);
  });

  test('data outside the two phases change nothing', () => {
    const input = madeInput();
    const shaken = (hours: PlaceHours): PlaceHours => ({
      ...hours,
      temperature: hours.temperature.map((value, i) => {
        const time = hours.start + i * HOUR_MS;
        // the days right before a phase feed its delays
        return time >= input.before!.to && time < input.after!.from - 4 * DAY_MS ? value + 7 : value;
      }),
    });
    const result = assess({ ...input, surface: { ...input.surface, hours: shaken(input.surface.hours) } });
    expect(main(result)).toEqual(main(assess(input)));
  });

  test('the same days three time zones further east give the same f and the same counts', () => {
    const input = { ...madeInput(), zone: 'Etc/UTC' };
    const by = -3 * HOUR_MS;
    const moved = (hours: PlaceHours): PlaceHours => ({ ...hours, start: hours.start + by });
    const east = assess({
      ...input,
      zone: 'Etc/GMT-3',
      surface: { ...input.surface, hours: moved(input.surface.hours) },
      room: { ...input.room, hours: moved(input.room.hours) },
      outdoor: { ...input.outdoor!, hours: moved(input.outdoor!.hours) },
      before: { from: input.before!.from + by, to: input.before!.to + by },
      after: { from: input.after!.from + by, to: input.after!.to + by },
    });
    const here = assess(input);
    expect(east.before!.f).toEqual(here.before!.f);
    expect(east.after!.f).toEqual(here.after!.f);
    expect(east.riskHours.before).toEqual(here.riskHours.before);
    expect(east.condensationNights.after).toEqual(here.condensationNights.after);
  });

  test('f does not depend on the zero of the temperature scale, nor on its unit', () => {
    const input = madeInput();
    const scaled = (hours: PlaceHours): PlaceHours => ({
      ...hours,
      temperature: hours.temperature.map((value) => 1.25 * value + 7),
      surfaceHumidity: new Float64Array(hours.temperature.length).fill(Number.NaN),
    });
    const other = assess({
      ...input,
      surface: { ...input.surface, hours: scaled(input.surface.hours) },
      room: { ...input.room, hours: scaled(input.room.hours) },
      outdoor: { ...input.outdoor!, hours: scaled(input.outdoor!.hours) },
    });
    expect(other.before!.f!.value).toBeCloseTo(0.55, EXACT);
    expect(other.after!.f!.value).toBeCloseTo(0.85, EXACT);
  });

  test('the same input gives the same result to the last digit; another seed moves only the intervals', () => {
    const input = madeInput();
    expect(JSON.stringify(assess(input))).toBe(JSON.stringify(assess(madeInput())));
    const other = assess({ ...input, seed: 2 });
    expect(other.before!.f!.value).toBe(assess(input).before!.f!.value);
    expect(other.before!.f!.low).not.toBe(assess(input).before!.f!.low);
  });
});

describe('evidence that is not enough is named, with figures and what would mend it', () => {
  const span = (from: number, to: number) => ({ from, to });
  const input = madeInput();
  const { before, after } = input;
  const constant = (hours: PlaceHours): PlaceHours => ({ ...hours, temperature: hours.temperature.map(() => 14) });
  const hotter = {
    ...input.room.hours,
    temperature: input.room.hours.temperature.map((value, i) => value + 4 + 0.1 * wobble(i)),
  };

  const cases: readonly (readonly [string, Partial<AssessmentInput>, FindingCode])[] = [
    ['no before phase', { before: null }, 'before-missing'],
    ['no after phase', { after: null }, 'after-missing'],
    ['a reversed phase', { before: span(before!.to, before!.from) }, 'phase-reversed'],
    ['an empty phase', { after: span(after!.from, after!.from) }, 'phase-empty'],
    ['a phase in the future', { after: span(after!.to + DAY_MS, after!.to + 30 * DAY_MS) }, 'phase-in-future'],
    ['phases that overlap', { after: span(before!.to - DAY_MS, after!.to) }, 'phases-overlap'],
    ['phases the wrong way round', { before: after, after: before }, 'after-precedes-before'],
    ['phases of NaN', { before: span(Number.NaN, Number.NaN) }, 'phase-reversed'],
    ['three nights', { after: span(after!.from, after!.from + 3 * DAY_MS) }, 'too-few-days'],
    ['an unknown time zone', { zone: 'Nowhere/Land' }, 'zone-unknown'],
    ['a target of 3', { target: { f: 3, source: '' } }, 'setting-out-of-range'],
    ['a setting out of range', { settings: { resamples: 1 } }, 'setting-out-of-range'],
    ['no outdoor air', { outdoor: null }, 'outdoor-missing'],
    ['loft air as the only cold side', { outdoor: null, loftAir: input.outdoor }, 'cold-side-is-loft'],
    [
      'a surface that never changes',
      { surface: { ...input.surface, hours: constant(input.surface.hours) } },
      'constant-series',
    ],
    [
      'one sensor for surface and room',
      { surface: { ...input.surface, hours: input.room.hours } },
      'same-sensor-twice',
    ],
    ['a surface hotter than the room', { surface: { ...input.surface, hours: hotter } }, 'surface-warmer-than-room'],
    [
      'a room that was not logged after the works',
      { room: { ...input.room, hours: cut(input.room.hours, before!.to) } },
      'room-missing',
    ],
  ];
  test.each(cases)('%s', (_, change, code) => {
    const result = assess({ ...input, ...change });
    const found = result.sufficiency.findings.find((one) => one.code === code);
    expect(found?.severity).toBe('blocks');
    expect(found?.mend).toBeTruthy();
    expect(result.sufficiency.enough).toBe(false);
    expect(result.verdict.kind).toBe('not-enough-evidence');
    expect(result.verdict.statement).toMatch(/^Not enough evidence yet: /);
  });

  test('a time zone in which it is warmest at night is doubted', () => {
    const result = assess({ ...input, zone: 'Pacific/Auckland' });
    expect(codes(result, 'weakens')).toContain('zone-doubtful');
    expect(codes(assess(input))).not.toContain('zone-doubtful');
  });

  test('three nights say how many more are needed and by when', () => {
    const end = after!.from + 3 * DAY_MS;
    const result = assess({ ...input, now: end, after: span(after!.from, end) });
    const found = result.sufficiency.findings.find((one) => one.code === 'too-few-days')!;
    expect(found.data).toMatchObject({ nightsNeeded: 7 });
    expect(found.by).toBeGreaterThanOrEqual(end + 3 * DAY_MS);
    expect(found.by).toBeLessThan(end + 7 * DAY_MS);
  });

  test('a probe that falls off the ceiling in the middle of a phase is noticed', () => {
    const fell = input.after!.from / HOUR_MS + 20 * 24;
    const result = assess(
      madeInput({ factorAfter: 0.6, surfaceOffset: (hour) => (hour < fell ? 0 : 5 + 0.2 * wobble(hour)) }),
    );
    expect(codes(result, 'blocks')).toContain('sensor-moved');
  });

  test('works that reach into the after phase are left out and said', () => {
    const result = assess({ ...input, leftOut: [{ ...span(before!.to, after!.from + 2 * DAY_MS), kind: 'works' }] });
    expect(codes(result, 'weakens')).toContain('works-inside-phase');
    expect(result.conditions.after!.spanHours).toBe((after!.to - after!.from) / HOUR_MS - 48);
  });

  test('a sensor moved within a phase leaves only its longest stretch', () => {
    const at = before!.from + 10 * DAY_MS;
    const stays = [
      { sensor: 'a', from: before!.from - DAY_MS, to: at },
      { sensor: 'a', from: at, to: null },
    ];
    const result = assess({ ...input, surface: { ...input.surface, stays } });
    expect(codes(result, 'weakens')).toContain('sensor-moved');
    expect(result.before!.from).toBe(at);
  });

  test('causes can be told before any lining', () => {
    const result = assess({ ...input, after: null });
    expect(result.verdict.kind).toBe('not-enough-evidence');
    expect(result.causes!.fabric.value).toBeGreaterThan(0);
  });

  test('without outdoor humidity there are risk hours but no causes', () => {
    const dry = { ...input.outdoor!.hours, vapourPressure: input.outdoor!.hours.vapourPressure.map(() => Number.NaN) };
    const result = assess({ ...input, outdoor: { ...input.outdoor!, hours: dry } });
    expect(result.riskHours.before!.value).toBeGreaterThan(0);
    expect(result.causes).toBeNull();
    expect(codes(result)).toContain('humidity-missing');
  });
});

function cut(hours: PlaceHours, from: number): PlaceHours {
  return {
    ...hours,
    temperature: hours.temperature.map((value, i) => (hours.start + i * HOUR_MS < from ? value : Number.NaN)),
  };
}

describe('shares of the causes', () => {
  test('add up with what remains to the whole', () => {
    const { fabric, moisture, heating, remaining } = assess(madeInput()).causes!;
    expect(fabric.value + moisture.value + heating.value + remaining.value).toBeCloseTo(1, EXACT);
  });

  test('a cool room that is dry and well built is put down to heating alone', () => {
    const result = assess(
      madeInput({
        factorBefore: 0.9,
        room: (hour) => 9 + 0.4 * Math.sin(hour / 11) + 0.1 * wobble(hour),
        outdoor: (hour) => 1 + 2 * Math.sin(hour / 4),
        roomHumidity: () => 78,
      }),
    );
    expect(result.causes!.leader).toBe('heating');
    expect(result.causes!.fabric.value).toBe(0);
  });
});

test('nothing a log can hold makes the assessment throw or print NaN', () => {
  const number = fc.oneof(fc.double({ min: -80, max: 120, noNaN: false }), fc.constant(Number.NaN), fc.constant(15));
  const column = fc.array(number, { minLength: 0, maxLength: 400 });
  const instant = fc.integer({ min: -30, max: 60 }).map((day) => Date.parse('2025-01-01T00:00:00Z') + day * DAY_MS);
  const phase = fc.option(fc.record({ from: instant, to: instant }), { nil: null });
  const hours = fc.tuple(column, column, fc.integer({ min: -200, max: 200 })).map(([temperature, humidity, shift]) => {
    const length = temperature.length;
    const fill = (values: readonly number[]): Float64Array =>
      Float64Array.from({ length }, (_, i) => values[i] ?? Number.NaN);
    const wet = fill(humidity);
    return {
      start: Date.parse('2025-01-01T00:00:00Z') + shift * HOUR_MS,
      temperature: fill(temperature),
      humidity: wet,
      vapourPressure: wet.map((value) => 20 * value),
      surfaceHumidity: wet,
      margin: wet,
      marginLow: wet,
      timberMoisture: wet,
      co2: wet,
    };
  });
  const base = madeInput();
  fc.assert(
    fc.property(hours, hours, hours, phase, phase, (surface, room, outdoor, before, after) => {
      const result = assess({
        ...base,
        surface: placeOf('s', 'ceiling-surface', surface),
        room: placeOf('r', 'room-air', room),
        outdoor: placeOf('o', 'outdoor-air', outdoor),
        loftAir: placeOf('l', 'loft-air', room),
        loftTimber: placeOf('t', 'loft-timber', outdoor),
        behind: placeOf('b', 'behind-lining', surface),
        control: placeOf('c', 'control-surface', outdoor),
        before,
        after,
        settings: { resamples: 200, mouldResamples: 20, fewestDays: 3 },
      });
      expect(JSON.parse(JSON.stringify(result))).toEqual(result);
    }),
    { numRuns: 60, seed: 1 },
  );
});
