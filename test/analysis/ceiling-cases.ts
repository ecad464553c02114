/**
 * Ground truth for the assessment: a modelled ceiling (transient conduction) under real weather and real living from the
 * open data, seen through sensors with drawn errors. Everything true of it is known.
 *
 * The rooms of the open data are warm and dry; to have damp at all, room temperature and vapour excess are moved, in
 * steps drawn per case, to those of a cool and moist dwelling in a milder climate. The hour-to-hour course stays real.
 */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { SensorUncertainty, Target } from '../../server/analysis/assessment.ts';
import type { AssessedPlace, AssessmentInput } from '../../server/analysis/assessment-input.ts';
import { defaultTarget } from '../../server/analysis/assessment-settings.ts';
import type { PlaceHours } from '../../server/analysis/place-hours.ts';
import type { PlaceKind } from '../../server/analysis/vocabulary.ts';
import { humidityClassLimits } from '../../server/physics/humidity-class.ts';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import {
  type CeilingCase,
  type CeilingMass,
  ceilingCase,
  hoursAtRisk,
  type MeasuredCase,
  measureCase,
  type SensorErrors,
} from '../../server/simulate/ceiling-case.ts';
import { type RandomStream, randomStream } from '../../server/simulate/random.ts';

const HOUR_MS = 3_600_000;
const DAY_HOURS = 24;
const folder = fileURLToPath(new URL('../../../shared/open-data/', import.meta.url));

export const openDataIsHere = existsSync(folder);

/** Hourly weather and living of one open-data house, gaps filled with the last value. */
export interface House {
  readonly start: number;
  readonly outdoorTemperature: Float64Array;
  readonly outdoorHumidity: Float64Array;
  /** W/m2 on the horizontal */
  readonly sun: Float64Array;
  readonly roomTemperature: Float64Array;
  readonly roomHumidity: Float64Array;
}

/** Columns of an open-data file; its time stamps are UTC+2. */
function columnsOf(path: string, names: readonly string[]): { start: number; columns: Float64Array[] } {
  const [head, ...lines] = readFileSync(path, 'utf8').trim().split('\n');
  const fields = head!.split(',');
  const rows = lines.map((line) => line.split(','));
  const first = Date.parse(`${rows[0]![0]!.replace(' ', 'T')}+02:00`);
  const columns = names.map((name) => {
    const at = fields.indexOf(name);
    let last = 0;
    return Float64Array.from(rows, (row) => {
      const value = Number(row[at]);
      if (row[at] !== '' && Number.isFinite(value)) last = value;
      return last;
    });
  });
  return { start: first, columns };
}

export function readHouses(): readonly House[] {
  return ['house-a', 'house-b'].map((name) => {
    const weather = columnsOf(`${folder}${name}/fmi.csv`, ['Te', 'RHe', 'Rglob']);
    const indoor = columnsOf(`${folder}${name}/indoor1.csv`, ['T', 'RH']);
    const [outdoorTemperature, outdoorHumidity, sun] = weather.columns as [Float64Array, Float64Array, Float64Array];
    const [roomTemperature, roomHumidity] = indoor.columns as [Float64Array, Float64Array];
    return { start: weather.start, outdoorTemperature, outdoorHumidity, sun, roomTemperature, roomHumidity };
  });
}

/** How a dwelling was lived in and how mild it was, in one phase. */
export interface Living {
  /** K added to the outdoor and to the room temperature */
  readonly milder: number;
  readonly warmer: number;
  /** factor on the real vapour excess, and Pa added */
  readonly moister: number;
  readonly extraPa: number;
  /** share of the limit of humidity class 2 at the day's outdoor temperature, in place of the real excess */
  readonly ofClassLimit?: number;
}

export interface CaseChoice {
  readonly house: House;
  readonly mass: CeilingMass;
  readonly factorBefore: number;
  readonly factorAfter: number | null;
  /** K of roof temperature per W/m2 of sun */
  readonly sunGain: number;
  /** entries of the house's series */
  readonly beforeFrom: number;
  readonly beforeDays: number;
  readonly afterFrom: number;
  readonly afterDays: number;
  readonly before: Living;
  readonly after: Living;
  readonly errors: SensorErrors;
}

/** A case laid out: the before window and the after window on one time axis, with the real gap between them. */
export interface LaidOutCase {
  readonly choice: CaseChoice;
  readonly truth: CeilingCase;
  readonly measured: MeasuredCase;
  readonly before: { from: number; to: number };
  readonly after: { from: number; to: number };
}

const SETTLE_HOURS = 10 * DAY_HOURS;

export function layOut(choice: CaseChoice, seed: number): LaidOutCase {
  const { house, beforeFrom, beforeDays, afterFrom, afterDays } = choice;
  const from = beforeFrom - SETTLE_HOURS;
  const to = afterFrom + afterDays * DAY_HOURS;
  const worksEntry = afterFrom - SETTLE_HOURS;
  const hours = to - from;
  const roomTemperature = new Float64Array(hours);
  const roomHumidity = new Float64Array(hours);
  const outdoorTemperature = new Float64Array(hours);
  const outdoorHumidity = new Float64Array(hours);
  const roofGain = new Float64Array(hours);
  for (let i = 0; i < hours; i++) {
    const k = from + i;
    const living = k < worksEntry ? choice.before : choice.after;
    const outdoor = house.outdoorTemperature[k]! + living.milder;
    const room = house.roomTemperature[k]! + living.warmer;
    const realOutside = (house.outdoorHumidity[k]! / 100) * saturationPressureOverWater(house.outdoorTemperature[k]!);
    const realInside = (house.roomHumidity[k]! / 100) * saturationPressureOverWater(house.roomTemperature[k]!);
    const outside = (house.outdoorHumidity[k]! / 100) * saturationPressureOverWater(outdoor);
    const real = living.moister * Math.max(0, realInside - realOutside) + living.extraPa;
    const excess =
      living.ofClassLimit === undefined ? real : living.ofClassLimit * classTwoLimit(house, k, living.milder);
    outdoorTemperature[i] = outdoor;
    outdoorHumidity[i] = Math.min(100, house.outdoorHumidity[k]!);
    roomTemperature[i] = room;
    roomHumidity[i] = Math.min(95, Math.max(15, (100 * (outside + excess)) / saturationPressureOverWater(room)));
    roofGain[i] = choice.sunGain * house.sun[k]!;
  }
  const start = house.start + from * HOUR_MS;
  const at = (entry: number): number => house.start + entry * HOUR_MS;
  const truth = ceilingCase({
    start,
    roomTemperature,
    roomHumidity,
    outdoorTemperature,
    outdoorHumidity,
    roofGain,
    mass: choice.mass,
    factorBefore: choice.factorBefore,
    factorAfter: choice.factorAfter,
    worksAt: at(worksEntry),
  });
  return {
    choice,
    truth,
    measured: measureCase(truth, choice.errors, seed),
    before: { from: at(beforeFrom), to: at(beforeFrom + beforeDays * DAY_HOURS) },
    after: { from: at(afterFrom), to: at(afterFrom + afterDays * DAY_HOURS) },
  };
}

/** Pa, at the mean outdoor temperature of the day round an hour. @source ISO 13788:2012, Annex A (from memory) */
function classTwoLimit(house: House, k: number, milder: number): number {
  let sum = 0;
  for (let hour = k - 12; hour < k + 12; hour++) sum += house.outdoorTemperature[hour]! + milder;
  return humidityClassLimits(sum / 24)[1];
}

export const place = (
  id: string,
  kind: PlaceKind,
  hours: PlaceHours,
  uncertainty: SensorUncertainty | null = null,
): AssessedPlace => ({ id, name: id, kind, hours, stays: [], recalibrations: [], uncertainty });

const uncertaintyOf = (errors: SensorErrors): SensorUncertainty => ({
  temperatureOffsetK: errors.temperatureOffset,
  humidityOffsetPct: errors.humidityOffset,
  temperatureDriftK: errors.temperatureDrift,
  humidityDriftPct: errors.humidityDrift,
  source: 'known of the simulated sensors',
});

export function inputOf(one: LaidOutCase, seed: number, target: Target = defaultTarget): AssessmentInput {
  const uncertainty = uncertaintyOf(one.choice.errors);
  return {
    surface: place('ceiling', 'ceiling-surface', one.measured.surface, uncertainty),
    room: place('room', 'room-air', one.measured.room, uncertainty),
    outdoor: place('outdoors', 'outdoor-air', one.measured.outdoor, uncertainty),
    loftAir: null,
    loftTimber: null,
    control: null,
    behind: null,
    otherSurfaces: [],
    before: one.before,
    after: one.after,
    leftOut: [],
    zone: 'Europe/Helsinki',
    target,
    now: null,
    airChangesPerHour: { before: null, after: null },
    seed,
    settings: {},
  };
}

/** What is true of the after phase, over the hours that the sensors saw. */
export function truthOf(one: LaidOutCase): { expected: number; measured: number; avoided: number } {
  const { truth, measured, after } = one;
  const from = (after.from - truth.start) / HOUR_MS;
  const to = (after.to - truth.start) / HOUR_MS;
  const seen = measured.surface.surfaceHumidity.map((value, i) =>
    Number.isNaN(value + measured.outdoor.temperature[i]!) ? Number.NaN : truth.roomVapourPressure[i]!,
  );
  const expected = hoursAtRisk(truth.surfaceUnlined, seen, from, to).risk;
  const own = hoursAtRisk(truth.surface, seen, from, to).risk;
  return { expected, measured: own, avoided: expected - own };
}

export type CaseKind = 'works' | 'nothing-done' | 'half-to-cured';

const between = (stream: RandomStream, low: number, high: number): number => low + (high - low) * stream.uniform();
const oneOf = <T>(stream: RandomStream, values: readonly T[]): T =>
  values[Math.floor(stream.uniform() * values.length)]!;

/** Sensors straight from the shop: data-sheet accuracy read as two standard deviations. Common practice, no source. */
export const shopSensors: SensorErrors = {
  temperatureOffset: 0.25,
  humidityOffset: 1.5,
  temperatureDrift: 0.12,
  humidityDrift: 0.75,
  temperatureNoise: 0.05,
  humidityNoise: 0.5,
  missingShare: 0.03,
  gapHours: 5,
};

/**
 * Draws a case. "works": lined from a poor f to a better one. "nothing-done": the second winter differs in weather,
 * living and sensor drift, and nothing else. "half-to-cured": f 0.55 to 0.85, three winter weeks each side.
 */
export function drawCase(houses: readonly House[], kind: CaseKind, errors: SensorErrors, seed: number): LaidOutCase {
  const stream = randomStream(seed, `case ${kind}`);
  const atA = stream.uniform() < 0.6;
  const house = houses[atA ? 0 : 1]!;
  const mass = oneOf(stream, ['light', 'timber', 'heavy'] as const);
  const shortest = kind === 'half-to-cured' ? 21 : 21;
  const longest = kind === 'half-to-cured' ? 21 : atA ? 130 : 60;
  const beforeDays = Math.round(between(stream, shortest, longest));
  const afterDays = Math.round(between(stream, shortest, kind === 'half-to-cured' ? 21 : 130));
  // winters of the data: house-a 2010-11-15 and 2011-12, house-b from 2011-01-31 and 2011-12
  const day = (iso: string): number => Math.round((Date.parse(iso) - house.start) / HOUR_MS);
  const first: readonly [number, number] = atA
    ? [day('2010-11-26'), day('2011-04-10')]
    : [day('2011-02-11'), day('2011-04-12')];
  const second: readonly [number, number] = [day('2011-11-20'), day('2012-04-10')];
  const within = (range: readonly [number, number], days: number): number =>
    Math.round(between(stream, range[0], Math.max(range[0], range[1] - days * DAY_HOURS)));
  const beforeFrom = within(first, beforeDays);
  const afterFrom = within(second, afterDays);
  const before: Living = {
    milder: between(stream, 4, 9),
    warmer: between(stream, -6, -3),
    moister: between(stream, 0.8, 1.6),
    extraPa: between(stream, 0, 300),
  };
  const changes = stream.uniform() < 0.6;
  const after: Living = changes
    ? {
        milder: before.milder + between(stream, 0, 5),
        warmer: before.warmer + between(stream, -1.5, 2.5),
        moister: before.moister * between(stream, 0.5, 1.3),
        extraPa: before.extraPa * between(stream, 0.2, 1.2),
      }
    : before;
  // heavy: a bare concrete deck already has f 0.72 with Rsi 0.25
  const factorBefore = kind === 'half-to-cured' ? 0.55 : between(stream, 0.5, 0.7);
  const lowest = { light: 0.27, timber: 0.45, heavy: 0.28 }[mass];
  return layOut(
    {
      house,
      mass,
      factorBefore: Math.max(factorBefore, lowest),
      factorAfter: kind === 'nothing-done' ? null : kind === 'half-to-cured' ? 0.85 : between(stream, 0.8, 0.93),
      sunGain: stream.uniform() < 0.5 ? 0 : between(stream, 0.005, 0.02),
      beforeFrom,
      beforeDays,
      afterFrom,
      afterDays,
      before,
      after,
      errors,
    },
    seed,
  );
}

export type Cause = 'fabric' | 'moisture' | 'heating';

/**
 * A dwelling before any works with one thing wrong: a cold surface (f 0.45 to 0.6) in a dry, warm room; a good surface
 * (0.8 to 0.88) in a warm room with an excess far over class 2; a good surface and a dry room kept at 10 to 14 °C.
 */
export function drawOneCause(houses: readonly House[], cause: Cause, errors: SensorErrors, seed: number): LaidOutCase {
  const stream = randomStream(seed, `one cause ${cause}`);
  const house = houses[0]!;
  const beforeFrom = Math.round(between(stream, 20, 90)) * DAY_HOURS;
  const beforeDays = Math.round(between(stream, 28, 60));
  const warm = between(stream, -3.5, -2);
  const milder = between(stream, 4, 9);
  const meanRoom = 22.5;
  const living: Living = {
    milder,
    warmer: cause === 'heating' ? between(stream, 10, 14) - meanRoom : warm,
    moister: 1,
    extraPa: 0,
    ofClassLimit: cause === 'moisture' ? between(stream, 2, 2.6) : between(stream, 0.8, 0.95),
  };
  return layOut(
    {
      house,
      mass: oneOf(stream, ['light', 'timber', 'heavy'] as const),
      factorBefore: cause === 'fabric' ? between(stream, 0.45, 0.6) : between(stream, 0.8, 0.88),
      factorAfter: null,
      sunGain: 0,
      beforeFrom,
      beforeDays,
      afterFrom: beforeFrom + (beforeDays + 11) * DAY_HOURS,
      afterDays: 1,
      before: living,
      after: living,
      errors,
    },
    seed,
  );
}
