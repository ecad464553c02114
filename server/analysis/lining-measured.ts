import { type BuildUp, countedBuildUp, pathsThrough } from '../physics/build-up.ts';
import { boundaryTemperatureHours } from '../physics/conduction-along.ts';
import type { Estimate, SensorUncertainty, Span } from './assessment.ts';
import type { AssessedPlace, AssessmentInput } from './assessment-input.ts';
import { assumedUncertainty } from './assessment-settings.ts';
import { spreadOf } from './estimate.ts';
import type { HiddenResult } from './hidden-cases.ts';
import type { LiningInput, LoggedHours } from './lining-input.ts';
import { columnOver } from './phase-hours.ts';
import type { PlaceKind } from './vocabulary.ts';

/** Fewest hours in which both are known before a mean is given, and hours in a day. */
const FEWEST_HOURS = 72;
const DAY_HOURS = 24;
/** Half width of a 95 % interval in standard uncertainties. @source JCGM 100:2008 (GUM), G.6.6 */
const COVERAGE_FACTOR = 2;

/** One place in one phase: means over the hours in which both the measured and the predicted value are known. */
export interface MeasuredBeside {
  readonly place: string;
  readonly placeKind: PlaceKind;
  readonly phase: 'before' | 'after';
  readonly quantity: 'temperature' | 'humidity';
  /** matched hours; 0 where there are too few to say */
  readonly hours: number;
  /** °C or % */
  readonly measured: number | null;
  readonly predicted: number | null;
  /** measured less predicted, with the interval that sensors and chance allow; K or % */
  readonly difference: Estimate | null;
  /** root of the mean square of the hours' differences, K or % */
  readonly scatter: number | null;
}

/** Air on both sides over all hours of an assessment's places, as the lining needs it; null without room or outdoors. */
export function loggedHoursOf({ room, outdoor, zone }: AssessmentInput): LoggedHours | null {
  if (outdoor === null || room.hours.temperature.length === 0) return null;
  const { start } = room.hours;
  const length = room.hours.temperature.length;
  return {
    start,
    zone,
    air: {
      roomTemperature: columnOver(room.hours, 'temperature', start, length),
      roomVapourPressure: columnOver(room.hours, 'vapourPressure', start, length),
      outdoorTemperature: columnOver(outdoor.hours, 'temperature', start, length),
      outdoorVapourPressure: columnOver(outdoor.hours, 'vapourPressure', start, length),
    },
  };
}

/**
 * What was measured at the surface and behind the lining beside what the build-ups lead to in the same hours, driven by the
 * home's own room and outdoor air. Heat held by the layers is counted; sun, draughts and bridges are not.
 *
 * @param logged the hours for which `hidden` was worked out
 */
export function measuredBeside(
  input: LiningInput,
  hidden: HiddenResult,
  logged: LoggedHours,
  places: AssessmentInput,
): MeasuredBeside[] {
  const surfaces = [places.surface, ...places.otherSurfaces];
  const of = (buildUp: BuildUp): Predicted => ({
    column: surfaceHours(buildUp, logged),
    roomShare: factorOf(buildUp),
  });
  const [before, after] = [of(input.before), of(input.after)];
  const out: MeasuredBeside[] = [];
  const add = (
    place: AssessedPlace,
    phase: MeasuredBeside['phase'],
    quantity: MeasuredBeside['quantity'],
    predicted: Predicted,
  ): void => {
    const span = places[phase];
    if (span !== null) out.push(beside(place, phase, quantity, span, predicted, logged, places));
  };
  for (const surface of surfaces) {
    add(surface, 'before', 'temperature', before);
    add(surface, 'after', 'temperature', after);
  }
  if (places.behind !== null && hidden.asDescribed.logged !== null) {
    const { temperature, humidity } = hidden.asDescribed.logged.series;
    const { resistanceToRoom, resistanceToOutdoor } = hidden.asDescribed.layer;
    const roomShare = resistanceToOutdoor / (resistanceToRoom + resistanceToOutdoor);
    add(places.behind, 'after', 'temperature', { column: temperature, roomShare });
    add(places.behind, 'after', 'humidity', { column: humidity, roomShare });
  }
  return out;
}

interface Predicted {
  readonly column: Float64Array;
  /** how much of a change of the room's air reaches the place at rest, 0 to 1 */
  readonly roomShare: number;
}

function surfaceHours(buildUp: BuildUp, { air }: LoggedHours): Float64Array {
  const { layers } = countedBuildUp(buildUp);
  const [clear] = pathsThrough(buildUp);
  return boundaryTemperatureHours(clear!, layers, 0, air.roomTemperature, air.outdoorTemperature);
}

function factorOf(buildUp: BuildUp): number {
  const [clear] = pathsThrough(buildUp);
  const total = clear!.rsi + clear!.resistances.reduce((sum, one) => sum + one, 0) + clear!.rse;
  return 1 - clear!.rsi / total;
}

function beside(
  place: AssessedPlace,
  phase: MeasuredBeside['phase'],
  quantity: MeasuredBeside['quantity'],
  span: Span,
  predicted: Predicted,
  { start }: LoggedHours,
  places: AssessmentInput,
): MeasuredBeside {
  const measured = columnOver(place.hours, quantity, start, predicted.column.length);
  const days = new Map<number, { n: number; sum: number }>();
  let n = 0;
  let sumMeasured = 0;
  let sumPredicted = 0;
  let squares = 0;
  for (let i = 0; i < measured.length; i++) {
    const time = start + i * 3_600_000;
    const difference = measured[i]! - predicted.column[i]!;
    if (time < span.from || time >= span.to || Number.isNaN(difference)) continue;
    if (places.leftOut.some((one) => time >= one.from && time < one.to)) continue;
    n += 1;
    sumMeasured += measured[i]!;
    sumPredicted += predicted.column[i]!;
    squares += difference * difference;
    const day = Math.floor(i / DAY_HOURS);
    const known = days.get(day) ?? { n: 0, sum: 0 };
    days.set(day, { n: known.n + 1, sum: known.sum + difference });
  }
  const common = { place: place.name, placeKind: place.kind, phase, quantity };
  if (n < FEWEST_HOURS) {
    return { ...common, hours: n, measured: null, predicted: null, difference: null, scatter: null };
  }
  const mean = (sumMeasured - sumPredicted) / n;
  // hours of one day are alike: days are what chance is taken over
  const daily = Float64Array.from(days.values(), (day) => day.sum / day.n);
  const byChance = spreadOf(daily) / Math.sqrt(daily.length);
  const bySensors = sensorUncertainty(place, quantity, predicted.roomShare, places);
  const half = COVERAGE_FACTOR * Math.hypot(byChance, bySensors);
  return {
    ...common,
    hours: n,
    measured: sumMeasured / n,
    predicted: sumPredicted / n,
    difference: { value: mean, low: mean - half, high: mean + half },
    scatter: Math.sqrt(squares / n),
  };
}

/** Offsets of the sensor at the place, and of the room's and outdoor sensor as far as they reach the prediction. */
function sensorUncertainty(
  place: AssessedPlace,
  quantity: MeasuredBeside['quantity'],
  roomShare: number,
  { room, outdoor }: AssessmentInput,
): number {
  const of = (one: AssessedPlace | null): SensorUncertainty => one?.uncertainty ?? assumedUncertainty;
  if (quantity === 'humidity') {
    // a prediction of humidity carries the room's and the outdoor humidity each by no more than their own offset
    return Math.hypot(of(place).humidityOffsetPct, of(room).humidityOffsetPct, of(outdoor).humidityOffsetPct);
  }
  return Math.hypot(
    of(place).temperatureOffsetK,
    roomShare * of(room).temperatureOffsetK,
    (1 - roomShare) * of(outdoor).temperatureOffsetK,
  );
}
