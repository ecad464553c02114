import { dewPoint, saturationPressure } from '../../physics/saturation.ts';
import { delayed } from '../delay.ts';
import { type Course, expected, type Persistence, persistenceOf } from './course.ts';
import type { Window } from './window.ts';

/** Hours of the past that a slow element still feels. */
const PAST_HOURS = 96;
const LEAST_PRESSURE = saturationPressure(-59);
const MOST_PRESSURE = saturationPressure(99);

const names = ['cold', 'room', 'outdoorVapour', 'ownVapour', 'rest'] as const;
type Persistences = Readonly<Record<(typeof names)[number], Persistence>>;

/** What is expected of each hour from an origin to the end of the night; NaN where it cannot be said. */
export interface NightCourse {
  /** °C */
  readonly surface: Float64Array;
  readonly room: Float64Array;
  readonly cold: Float64Array;
  readonly dewPoint: Float64Array;
  /** K */
  readonly margin: Float64Array;
}

/** Outdoor temperature, °C, and vapour pressure, Pa, of the hours from an origin on, from elsewhere; NaN: not said. */
export interface Outdoors {
  readonly temperature: Float64Array;
  readonly vapourPressure: Float64Array;
}

export const persistencesOf = (window: Window, origins: readonly number[]): Persistences => ({
  cold: persistenceOf(window.cold, origins, window.known, window.leads),
  room: persistenceOf(window.room, origins, window.known, window.leads),
  outdoorVapour: persistenceOf(window.outdoorVapour, origins, window.known, window.leads),
  ownVapour: persistenceOf(window.ownVapour, origins, window.known, window.leads),
  rest: persistenceOf(window.rest, origins, window.known, window.leads),
});

/**
 * The course of the night as expected just before an entry: room, cold side, vapour excess and the surface's own rest each
 * by habit and persistence ({@link expected}); the surface by its fitted response, heat stored so far included.
 *
 * @param outdoors takes the place of what is expected of the cold side
 */
export function nightCourse(
  window: Window,
  persistences: Persistences,
  origin: number,
  outdoors: Outdoors | null,
): NightCourse {
  const { leads, known, response } = window;
  const place = origin < known ? 'among-the-fitted' : 'new';
  const of = (name: (typeof names)[number]): Float64Array =>
    expected(window[name], persistences[name], origin, leads, place);
  const cold = instead(outdoors?.temperature, of('cold'));
  const room = of('room');
  const outdoorVapour = instead(outdoors?.vapourPressure, of('outdoorVapour'));
  const ownVapour = of('ownVapour');
  const rest = of('rest');
  const coldFelt = felt(window.cold, cold, origin, response.lags.cold);
  const roomFelt = felt(window.room, room, origin, response.lags.room);
  const surface = new Float64Array(leads);
  const dew = new Float64Array(leads);
  const margin = new Float64Array(leads);
  const { f, interceptK } = response.fit;
  for (let lead = 0; lead < leads; lead++) {
    surface[lead] = coldFelt[lead]! + interceptK + f * (roomFelt[lead]! - coldFelt[lead]!) + rest[lead]!;
    const pressure = window.outdoorShare * outdoorVapour[lead]! + ownVapour[lead]!;
    dew[lead] = pressure >= LEAST_PRESSURE && pressure <= MOST_PRESSURE ? dewPoint(pressure) : Number.NaN;
    margin[lead] = surface[lead]! - dew[lead]!;
  }
  return { surface, room, cold, dewPoint: dew, margin };
}

const instead = (given: Float64Array | undefined, own: Float64Array): Float64Array =>
  given === undefined ? own : own.map((value, lead) => (Number.isNaN(given[lead]!) ? value : given[lead]!));

/** The coming hours of one air as the element feels them, its past before the origin included. */
function felt(
  course: Course,
  coming: Float64Array,
  origin: number,
  delay: Parameters<typeof delayed>[1],
): Float64Array {
  const from = Math.max(0, origin - PAST_HOURS);
  const past = course.values.slice(from, origin);
  for (let i = 0; i < past.length; i++) if (Number.isNaN(past[i]!)) past[i] = course.habit[from + i]!;
  const whole = new Float64Array(past.length + coming.length);
  whole.set(past);
  whole.set(coming, past.length);
  return delayed(whole, delay, 'at once').subarray(past.length);
}
