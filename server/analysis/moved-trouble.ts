import { mouldIndex } from '../physics/mould-index.ts';
import { timberMoisture } from '../physics/timber.ts';
import type { AssessmentSettings, Estimate, MovedFigure, MovedTrouble, Span, Target, Worked } from './assessment.ts';
import type { AssessedPlace } from './assessment-input.ts';
import { type NightSums, resampleNights } from './blocks.ts';
import { changeDraws, changeOf, deviationsFor, type FactorPair } from './change.ts';
import { meanOf } from './conditions.ts';
import { estimateOf, spreadOf } from './estimate.ts';
import { columnOver } from './phase-hours.ts';
import { randomStream } from './random.ts';
import { fixed, plural, sentence, withInterval } from './say.ts';
import type { OffsetDraws, SensorDraws } from './sensor-draws.ts';
import { surfaceVerdict } from './surface-verdict.ts';
import type { FactorResult } from './temperature-factor.ts';
import { HOUR_MS } from './vocabulary.ts';
import {
  daysOverWorked,
  estimatedTimberWorked,
  highestIndexWorked,
  meanOfDaysWorked,
  oldSurfaceIndexWorked,
} from './working/elsewhere.ts';
import { differenceWorked, factorWorked } from './working/factor.ts';

const DAY_HOURS = 24;
const DAY_MS = DAY_HOURS * HOUR_MS;
/** Days with data before a place away from the surface is judged, and cold days before it is called no worse. */
const FEWEST_DAYS = 7;
const COLD_DAYS_WANTED = 60;
/** A day whose mean outdoor temperature is below this dries little and wets much, °C. Common practice, no source. */
const COLD_DAY_BELOW = 10;
/** A rise of the mould index over the before phase and over outdoors that counts. Common practice, no source. */
const SMALLEST_INDEX_RISE = 0.5;
/** A rise of the mean timber moisture that counts, % of dry mass. Common practice, no source. */
const SMALLEST_TIMBER_RISE = 2;
/** Fewest hours of a UTC day that make a daily mean. */
const FEWEST_HOURS = 12;

/** The same verdict for another surface: an edge of the lining, the reveal. */
export function surfaceElsewhere(
  place: AssessedPlace,
  { before: first, after: second }: { readonly before: FactorResult | null; readonly after: FactorResult | null },
  target: Target,
  settings: AssessmentSettings,
): MovedTrouble {
  const base = { place: place.name, placeKind: place.kind, by: null };
  if (first === null || second === null) {
    const figures = [
      {
        name: 'temperature factor f',
        unit: '',
        before: first?.estimate ?? null,
        after: second?.estimate ?? null,
        limit: target.f,
        workingBefore: first && factorWorked(first.working),
        workingAfter: second && factorWorked(second.working),
      },
    ];
    const code = second === null ? 'surface-few' : 'surface-alone';
    return {
      ...base,
      code,
      data: {},
      kind: 'not-enough-evidence',
      statement: alone(place.name, second, target),
      figures,
    };
  }
  const pair: FactorPair = { before: first, after: second };
  const kind = surfaceVerdict(pair, { kind: 'missing' }, target, settings);
  const before = pair.before.estimate;
  const after = pair.after.estimate;
  const said = {
    'target-met': 'meets the target',
    'better-short-of-target': 'improved, but is not shown to meet the target',
    'no-change-shown': 'shows no change',
    worse: 'got worse',
  }[kind];
  const change = estimateOf(changeOf(pair), changeDraws(pair));
  return {
    ...base,
    code: 'surface-compared',
    data: {},
    kind,
    statement: `${place.name} ${said}: f ${withInterval(before, 2)} before, ${withInterval(after, 2)} after.`,
    figures: [
      {
        name: 'temperature factor f',
        unit: '',
        before,
        after,
        limit: target.f,
        workingBefore: factorWorked(first.working),
        workingAfter: factorWorked(second.working),
      },
      {
        name: 'change of f',
        unit: '',
        before: null,
        after: change,
        limit: null,
        workingBefore: null,
        workingAfter: differenceWorked(
          'f after - f before',
          { name: 'f after', value: after },
          { name: 'f before', value: before },
          '',
          'ISO 13788:2012, 3.1.2 for f',
        ),
      },
    ],
  };
}

/** What can be said of a surface without a before to compare with. */
function alone(name: string, after: FactorResult | null, target: Target): string {
  if (after === null) return `${name}: not enough nights in both phases to compare.`;
  const { low, high } = after.estimate;
  const where = low >= target.f ? 'over' : high < target.f ? 'under' : 'not clearly over or under';
  return `${name}: f ${withInterval(after.estimate, 2)} after the works, ${where} the target of ${fixed(target.f, 2)}; too little was logged there before to compare with.`;
}

/** Days of a place in one phase, UTC days with at least half their hours. */
interface Days {
  readonly n: number;
  /** mean of the day, NaN where not known */
  readonly value: Float64Array;
}

function dailyMeans(values: Float64Array): Days {
  const days = Math.floor(values.length / DAY_HOURS);
  const value = new Float64Array(days).fill(Number.NaN);
  let n = 0;
  for (let d = 0; d < days; d++) {
    let count = 0;
    let sum = 0;
    for (let h = 0; h < DAY_HOURS; h++) {
      const own = values[d * DAY_HOURS + h]!;
      if (Number.isNaN(own)) continue;
      count += 1;
      sum += own;
    }
    if (count < FEWEST_HOURS) continue;
    value[d] = sum / count;
    n += 1;
  }
  return { n, value };
}

/** Mean over the known days, with draws from resampled days. Null where too few. */
function meanWithDraws(
  days: Days,
  settings: AssessmentSettings,
  seed: number,
  name: string,
): { value: number; draws: Float64Array; days: number } | null {
  if (days.n < FEWEST_DAYS) return null;
  const known = days.value.map((value) => (Number.isNaN(value) ? 0 : 1));
  const sum = days.value.map((value) => (Number.isNaN(value) ? 0 : value));
  const sums: NightSums = { nights: days.value.length, columns: [known, sum], filled: days.n };
  const total = sum.reduce((a, b) => a + b, 0) / days.n;
  const { columns, widening } = resampleNights(
    sums,
    settings.blockDays,
    settings.resamples,
    randomStream(seed, `days ${name}`),
  );
  const draws = columns[0]!.map((count, r) =>
    count === 0 ? total : total + widening * (columns[1]![r]! / count - total),
  );
  return { value: total, draws, days: days.n };
}

interface PhaseColumns {
  readonly start: number;
  readonly length: number;
  readonly counted: Uint8Array;
}

/** The whole UTC days of a span, without what is left out. */
export function phaseColumns(span: Span, leftOut: readonly Span[]): PhaseColumns {
  const start = Math.ceil(span.from / DAY_MS) * DAY_MS;
  const days = Math.max(0, Math.floor((span.to - start) / DAY_MS));
  const length = days * DAY_HOURS;
  const counted = new Uint8Array(length);
  for (let i = 0; i < length; i++) {
    const time = start + i * HOUR_MS;
    counted[i] = leftOut.some((one) => time + HOUR_MS > one.from && time < one.to) ? 0 : 1;
  }
  return { start, length, counted };
}

type Column = 'temperature' | 'humidity' | 'vapourPressure' | 'surfaceHumidity' | 'timberMoisture';

function column(place: AssessedPlace, what: Column, phase: PhaseColumns): Float64Array {
  const values = columnOver(place.hours, what, phase.start, phase.length);
  return values.map((value, i) => (phase.counted[i] === 1 ? value : Number.NaN));
}

/** A figure that has no interval, how it was worked out, and null for both where too little is known. */
interface Plain {
  readonly value: number | null;
  readonly worked: Worked | null;
}

const unknown: Plain = { value: null, worked: null };

/** Mould index of the air of a place on a surface at its own temperature: the highest of the phase. */
function highestIndex(
  place: AssessedPlace | null,
  phase: PhaseColumns | null,
  { mouldSensitivity: sensitivity }: AssessmentSettings,
): Plain {
  if (place === null || phase === null) return unknown;
  const temperature = column(place, 'temperature', phase);
  const humidity = column(place, 'humidity', phase);
  let known = 0;
  for (let i = 0; i < temperature.length; i++) {
    if (!(temperature[i]! > -60 && temperature[i]! < 100 && humidity[i]! >= 0)) {
      temperature[i] = Number.NaN;
      continue;
    }
    known += 1;
  }
  if (known < FEWEST_DAYS * DAY_HOURS) return unknown;
  return {
    value: mouldIndex(temperature, humidity, undefined, { sensitivity }).state.highest,
    worked: highestIndexWorked(sensitivity, known),
  };
}

/** Mean moisture of timber in a place's air, lagged, % of dry mass; null where too little is known. */
function estimatedTimber(place: AssessedPlace | null, phase: PhaseColumns | null): Plain {
  if (place === null || phase === null) return unknown;
  const temperature = column(place, 'temperature', phase).map((t) => (t > -60 && t < 100 ? t : Number.NaN));
  const humidity = column(place, 'humidity', phase).map((h) => (h >= 0 ? h : Number.NaN));
  const { moisture, state } = timberMoisture(temperature, humidity);
  const known = state.hours - state.unknownHours;
  if (known < FEWEST_DAYS * DAY_HOURS) return unknown;
  return { value: meanOf(moisture), worked: estimatedTimberWorked(known) };
}

const exactly = (value: number | null): Estimate | null => (value === null ? null : { value, low: value, high: value });

const coldDays = (outdoor: AssessedPlace | null, phase: PhaseColumns): number =>
  outdoor === null
    ? 0
    : dailyMeans(column(outdoor, 'temperature', phase)).value.filter((value) => value < COLD_DAY_BELOW).length;

export interface ElsewhereContext {
  readonly before: PhaseColumns | null;
  readonly after: PhaseColumns | null;
  readonly outdoor: AssessedPlace | null;
  readonly settings: AssessmentSettings;
  readonly seed: number;
  /** UTC milliseconds to which the data run */
  readonly now: number | null;
}

/**
 * The hidden layer. A lining makes it colder; what counts is whether mould can grow there. Nothing was there before, so
 * it is held to the limit of the mould index, and to the old surface's index before where that is known.
 */
export function behindLining(
  place: AssessedPlace,
  oldSurfaceIndex: number | null,
  context: ElsewhereContext,
): MovedTrouble {
  const { after, outdoor, settings, now } = context;
  const base = { place: place.name, placeKind: place.kind };
  const { value: index, worked } = highestIndex(place, after, settings);
  const limit = settings.mouldLimit;
  const figures: MovedFigure[] = [
    {
      name: 'mould index, highest',
      unit: '',
      before: exactly(oldSurfaceIndex),
      after: exactly(index),
      limit,
      workingBefore: oldSurfaceIndex === null ? null : oldSurfaceIndexWorked,
      workingAfter: worked,
    },
  ];
  if (after === null || index === null) {
    return {
      ...base,
      code: 'hidden-few',
      data: { fewestDays: FEWEST_DAYS },
      kind: 'not-enough-evidence',
      statement: `${place.name}: fewer than ${FEWEST_DAYS} days of temperature and humidity after the works.`,
      figures,
      by: null,
    };
  }
  if (index > limit && index > (oldSurfaceIndex ?? 0) + SMALLEST_INDEX_RISE) {
    return {
      ...base,
      code: 'hidden-grows',
      data: {},
      kind: 'worse',
      statement: `${place.name}: mould can grow there, index ${fixed(index, 1)} against a limit of ${fixed(limit, 1)}.`,
      figures,
      by: null,
    };
  }
  const cold = coldDays(outdoor, after);
  if (cold < COLD_DAYS_WANTED) {
    return {
      ...base,
      code: 'hidden-waits',
      data: { coldDays: cold, coldDaysWanted: COLD_DAYS_WANTED },
      kind: 'not-enough-evidence',
      statement: `${place.name}: mould index ${fixed(index, 1)} so far, limit ${fixed(limit, 1)}. It needs ${COLD_DAYS_WANTED} cold days to be judged and has had ${cold}.`,
      figures,
      by: now === null ? null : now + (COLD_DAYS_WANTED - cold) * DAY_MS,
    };
  }
  const over = index > limit;
  return {
    ...base,
    code: over ? 'hidden-over' : 'hidden-fine',
    data: {},
    kind: 'no-worse',
    statement: over
      ? `${place.name}: mould index ${fixed(index, 1)}, over the limit of ${fixed(limit, 1)} but no higher than the old surface had.`
      : `${place.name}: no worse, mould index ${fixed(index, 1)}, limit ${fixed(limit, 1)}.`,
    figures,
    by: null,
  };
}

/** The loft's air: is it wetter than before, outdoors taken off? */
export function loftAir(place: AssessedPlace, offsets: LoftOffsets, context: ElsewhereContext): MovedTrouble {
  const { before, after, outdoor, settings, seed, now } = context;
  const base = { place: place.name, placeKind: place.kind };
  const excess = (phase: PhaseColumns | null, name: string) => {
    if (phase === null || outdoor === null) return null;
    const own = column(place, 'vapourPressure', phase);
    const outside = column(outdoor, 'vapourPressure', phase);
    return meanWithDraws(
      dailyMeans(own.map((value, i) => value - outside[i]!)),
      settings,
      seed,
      `${place.id} excess ${name}`,
    );
  };
  const first = excess(before, 'before');
  const second = excess(after, 'after');
  const withOffsets = (
    mean: { value: number; draws: Float64Array },
    phase: PhaseColumns,
    of: (draws: SensorDraws) => OffsetDraws,
  ): Float64Array => {
    const ownPerPct = pressurePerHumidity(column(place, 'vapourPressure', phase), column(place, 'humidity', phase));
    const outPerPct = pressurePerHumidity(
      column(outdoor!, 'vapourPressure', phase),
      column(outdoor!, 'humidity', phase),
    );
    return mean.draws.map(
      (value, r) => value - ownPerPct * of(offsets.loft).humidity[r]! + outPerPct * of(offsets.outdoor).humidity[r]!,
    );
  };
  const index = { before: highestIndex(place, before, settings), after: highestIndex(place, after, settings) };
  const outside = { before: highestIndex(outdoor, before, settings), after: highestIndex(outdoor, after, settings) };
  const timber = { before: estimatedTimber(place, before), after: estimatedTimber(place, after) };
  const timberOutside = { before: estimatedTimber(outdoor, before), after: estimatedTimber(outdoor, after) };
  const drawsBefore = first && before ? withOffsets(first, before, (draws) => draws.before) : null;
  const drawsAfter = second && after ? withOffsets(second, after, (draws) => draws.after) : null;
  const excessBefore = first && drawsBefore && estimateOf(first.value, drawsBefore);
  const excessAfter = second && drawsAfter && estimateOf(second.value, drawsAfter);
  const figures: MovedFigure[] = [
    {
      name: 'vapour excess over outdoors',
      unit: 'Pa',
      before: excessBefore,
      after: excessAfter,
      limit: null,
      workingBefore: excessBefore && excessWorked(first!),
      workingAfter: excessAfter && excessWorked(second!),
    },
    plainFigure('mould index, highest', '', index, settings.mouldLimit),
    plainFigure('mould index of outdoor air, highest', '', outside, null),
    plainFigure('timber moisture estimated from the air, mean', '%', timber, settings.timberLimitPct),
  ];
  if (!first || !second || !drawsBefore || !drawsAfter || !excessBefore || !excessAfter) {
    const phase = before && first === null ? 'before' : 'after';
    return {
      ...base,
      code: 'loft-few',
      data: { fewestDays: FEWEST_DAYS, phase },
      kind: 'not-enough-evidence',
      statement: `${place.name}: fewer than ${FEWEST_DAYS} days of loft and outdoor humidity ${phase} the works.`,
      figures,
      by: before && first !== null && now !== null ? now + FEWEST_DAYS * DAY_MS : null,
    };
  }
  const change = second.value - first.value;
  const spread = spreadOf(drawsAfter.map((value, r) => value - drawsBefore[r]!));
  const margin = deviationsFor(settings.falseAlarm) * spread;
  const wetter = change >= settings.smallestExcessChangePa && change - margin > 0;
  const drier = change <= -settings.smallestExcessChangePa && change + margin < 0;
  const rise = riseOver(index, outside);
  const mouldier = index.after.value !== null && index.after.value > settings.mouldLimit && rise > SMALLEST_INDEX_RISE;
  const excessSaid = `excess over outdoors ${withInterval(excessAfter, 0)} Pa, was ${withInterval(excessBefore, 0)} Pa`;
  const dampened =
    riseOver(timber, timberOutside) >= SMALLEST_TIMBER_RISE && (timber.after.value ?? 0) > settings.timberLimitPct;
  if (wetter || ((mouldier || dampened) && change > 0)) {
    return {
      ...base,
      code: 'loft-wetter',
      data: {},
      kind: 'worse',
      statement: `${place.name} got wetter: ${excessSaid}.`,
      figures,
      by: null,
    };
  }
  return {
    ...base,
    code: drier ? 'loft-drier' : 'loft-as-before',
    data: {},
    kind: 'no-worse',
    statement: `${place.name} ${drier ? 'got drier' : 'is as before'}: ${excessSaid}.`,
    figures,
    by: null,
  };
}

/** Rise from before to after beyond the rise outdoors; 0 where it is not known. */
function riseOver({ before, after }: BothPhases, outside: BothPhases): number {
  if (before.value === null || after.value === null) return 0;
  return after.value - before.value - Math.max(0, (outside.after.value ?? 0) - (outside.before.value ?? 0));
}

interface BothPhases {
  readonly before: Plain;
  readonly after: Plain;
}

const plainFigure = (name: string, unit: string, { before, after }: BothPhases, limit: number | null): MovedFigure => ({
  name,
  unit,
  before: exactly(before.value),
  after: exactly(after.value),
  limit,
  workingBefore: before.worked,
  workingAfter: after.worked,
});

const excessWorked = ({ value, days }: { readonly value: number; readonly days: number }): Worked =>
  meanOfDaysWorked(
    'loft vapour pressure less outdoor vapour pressure',
    'Pa',
    days,
    value,
    'vapour pressure of each hour from paired readings, ISO 13788:2012, Annex E',
  );

export interface LoftOffsets {
  readonly loft: SensorDraws;
  readonly outdoor: SensorDraws;
}

/** Pa per % of humidity offset: mean of pressure over humidity. */
function pressurePerHumidity(pressure: Float64Array, humidity: Float64Array): number {
  let n = 0;
  let sum = 0;
  for (let i = 0; i < pressure.length; i++) {
    const own = pressure[i]! / humidity[i]!;
    if (!Number.isFinite(own)) continue;
    n += 1;
    sum += own;
  }
  return n === 0 ? 0 : sum / n;
}

const timberWorked = ({ value, days }: { readonly value: number; readonly days: number }): Worked =>
  meanOfDaysWorked('the moisture content', '%', days, value, 'resistance of timber as the sensor reports it');

/** The loft's timber by its moisture series. */
export function loftTimber(place: AssessedPlace, context: ElsewhereContext): MovedTrouble {
  const { before, after, settings, seed } = context;
  const base = { place: place.name, placeKind: place.kind, by: null };
  const limit = settings.timberLimitPct;
  const mean = (phase: PhaseColumns | null, name: string) =>
    phase && meanWithDraws(dailyMeans(column(place, 'timberMoisture', phase)), settings, seed, `${place.id} ${name}`);
  const overLimit = (phase: PhaseColumns | null): number =>
    phase ? dailyMeans(column(place, 'timberMoisture', phase)).value.filter((value) => value > limit).length : 0;
  const first = mean(before, 'timber before');
  const second = mean(after, 'timber after');
  const estimateBefore = first && estimateOf(first.value, first.draws);
  const estimateAfter = second && estimateOf(second.value, second.draws);
  const daysBefore = overLimit(before);
  const daysAfter = overLimit(after);
  const figures: MovedFigure[] = [
    {
      name: 'timber moisture, mean',
      unit: '%',
      before: estimateBefore,
      after: estimateAfter,
      limit,
      workingBefore: first && timberWorked(first),
      workingAfter: second && timberWorked(second),
    },
    {
      name: 'days over the limit',
      unit: 'd',
      before: first && { value: daysBefore, low: daysBefore, high: daysBefore },
      after: second && { value: daysAfter, low: daysAfter, high: daysAfter },
      limit: null,
      workingBefore: first && daysOverWorked(limit, first.days),
      workingAfter: second && daysOverWorked(limit, second.days),
    },
  ];
  if (!second || !estimateAfter) {
    return {
      ...base,
      code: 'timber-few',
      data: { fewestDays: FEWEST_DAYS },
      kind: 'not-enough-evidence',
      statement: `${place.name}: fewer than ${FEWEST_DAYS} days of timber moisture after the works.`,
      figures,
    };
  }
  const said = `timber moisture ${withInterval(estimateAfter, 1)} %${estimateBefore ? `, was ${withInterval(estimateBefore, 1)} %` : ''}`;
  const margin = first
    ? deviationsFor(settings.falseAlarm) * spreadOf(second.draws.map((value, r) => value - first.draws[r]!))
    : 0;
  const risen = first !== null && second.value - first.value >= Math.max(SMALLEST_TIMBER_RISE, margin);
  const wet = daysAfter >= FEWEST_DAYS && daysBefore === 0;
  if (risen || wet) {
    return {
      ...base,
      code: 'timber-wetter',
      data: { daysOver: daysAfter },
      kind: 'worse',
      statement: `${place.name} got wetter: ${said}; ${plural(daysAfter, 'day', 'days')} over ${limit} %.`,
      figures,
    };
  }
  if (first === null) {
    return {
      ...base,
      code: 'timber-alone',
      data: {},
      kind: 'not-enough-evidence',
      statement: `${sentence(said)} in ${place.name}; there is nothing from before the works to compare it with.`,
      figures,
    };
  }
  return {
    ...base,
    code: 'timber-as-before',
    data: {},
    kind: 'no-worse',
    statement: `${place.name} is as before: ${said}.`,
    figures,
  };
}
