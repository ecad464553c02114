/** Hour records made from formulas, for checks whose answer is known exactly. */
import type { AssessedPlace, AssessmentInput } from '../../server/analysis/assessment-input.ts';
import { defaultTarget } from '../../server/analysis/assessment-settings.ts';
import type { PlaceHours } from '../../server/analysis/place-hours.ts';
import type { PlaceKind } from '../../server/analysis/vocabulary.ts';
import { dewPoint, saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { surfaceHumidity } from '../../server/physics/surface.ts';

export const HOUR_MS = 3_600_000;
export const DAY_MS = 24 * HOUR_MS;

/** A number between -1 and 1 that looks like chance and is the same everywhere. */
export const wobble = (k: number): number => {
  const value = Math.sin(k * 12.9898) * 43758.5453;
  return 2 * (value - Math.floor(value)) - 1;
};

export const days = (from: string, count: number): { from: number; to: number } => ({
  from: Date.parse(from),
  to: Date.parse(from) + count * DAY_MS,
});

export type Course = (hour: number) => number;

/** Weather that swings by day and wanders from day to day. */
export const winter: Course = (hour) =>
  3 + 3 * Math.cos((2 * Math.PI * (hour - 14)) / 24) + 3 * Math.sin(hour / 37) + 2 * wobble(Math.floor(hour / 24));
export const livedIn: Course = (hour) => 19 + 0.8 * Math.sin(hour / 11) + 0.3 * wobble(hour);

export function air(start: number, hours: number, temperature: Course, humidity: Course): PlaceHours {
  const at = (of: Course): Float64Array => Float64Array.from({ length: hours }, (_, i) => of(start / HOUR_MS + i));
  const temperatures = at(temperature);
  const humidities = at(humidity);
  const pressures = temperatures.map((value, i) => (humidities[i]! / 100) * saturationPressureOverWater(value));
  const unknown = new Float64Array(hours).fill(Number.NaN);
  const margin = temperatures.map((value, i) => (pressures[i]! > 0 ? value - dewPoint(pressures[i]!) : Number.NaN));
  return {
    start,
    temperature: temperatures,
    humidity: humidities,
    vapourPressure: pressures,
    surfaceHumidity: humidities,
    margin,
    marginLow: margin,
    timberMoisture: unknown,
    co2: unknown,
  };
}

/** A surface judged by the room's vapour pressure. */
export function surfaceOf(room: PlaceHours, temperature: (i: number) => number): PlaceHours {
  const temperatures = room.temperature.map((_, i) => temperature(i));
  const margin = temperatures.map((value, i) => value - dewPoint(room.vapourPressure[i]!));
  return {
    ...room,
    temperature: temperatures,
    humidity: new Float64Array(temperatures.length).fill(Number.NaN),
    surfaceHumidity: temperatures.map((value, i) => surfaceHumidity(room.vapourPressure[i]!, value)),
    margin,
    marginLow: margin,
  };
}

export const placeOf = (name: string, kind: PlaceKind, hours: PlaceHours): AssessedPlace => ({
  id: name,
  name,
  kind,
  hours,
  stays: [],
  recalibrations: [],
  uncertainty: null,
});

export interface Made {
  /** f before and from the end of the before phase on */
  readonly factorBefore?: number;
  readonly factorAfter?: number;
  readonly beforeDays?: number;
  readonly afterDays?: number;
  readonly outdoor?: Course;
  readonly room?: Course;
  readonly roomHumidity?: Course;
  /** K added to the surface */
  readonly surfaceOffset?: Course;
}

const START = Date.parse('2024-11-20T00:00:00Z');
const GAP_DAYS = 5;

/** A ceiling without any heat capacity under a made winter: f is exact in every hour. */
export function madeInput(made: Made = {}): AssessmentInput {
  const { factorBefore = 0.55, factorAfter = 0.85, beforeDays = 40, afterDays = 40 } = made;
  const hours = (beforeDays + GAP_DAYS + afterDays) * 24;
  const room = air(START, hours, made.room ?? livedIn, made.roomHumidity ?? ((hour) => 62 + 6 * Math.sin(hour / 29)));
  const outdoor = air(START, hours, made.outdoor ?? winter, () => 85);
  const worksAt = beforeDays * 24;
  const factor = (i: number): number => (i < worksAt ? factorBefore : factorAfter);
  const offset = made.surfaceOffset ?? (() => 0);
  const surface = surfaceOf(
    room,
    (i) =>
      outdoor.temperature[i]! +
      factor(i) * (room.temperature[i]! - outdoor.temperature[i]!) +
      offset(START / HOUR_MS + i),
  );
  const before = { from: START, to: START + beforeDays * DAY_MS };
  return {
    surface: placeOf('Ceiling', 'ceiling-surface', surface),
    room: placeOf('Room', 'room-air', room),
    outdoor: placeOf('Outdoors', 'outdoor-air', outdoor),
    loftAir: null,
    loftTimber: null,
    control: null,
    behind: null,
    otherSurfaces: [],
    before,
    after: { from: before.to + GAP_DAYS * DAY_MS, to: before.to + (GAP_DAYS + afterDays) * DAY_MS },
    leftOut: [],
    zone: 'Europe/London',
    target: defaultTarget,
    now: null,
    airChangesPerHour: { before: null, after: null },
    seed: 1,
    settings: {},
  };
}

/** The made ceiling's surface with another factor, as a further place. */
export function anotherSurface(
  input: AssessmentInput,
  name: string,
  kind: PlaceKind,
  factorBefore: number,
  factorAfter: number,
): AssessedPlace {
  const room = input.room.hours;
  const cold = input.outdoor!.hours;
  const change = (input.before!.to - room.start) / HOUR_MS;
  const hours = surfaceOf(room, (i) => {
    const f = i < change ? factorBefore : factorAfter;
    return cold.temperature[i]! + f * (room.temperature[i]! - cold.temperature[i]!);
  });
  return placeOf(name, kind, hours);
}
