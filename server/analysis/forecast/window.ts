import { assessmentSettings } from '../assessment-settings.ts';
import { delayed } from '../delay.ts';
import { localNights } from '../local-nights.ts';
import { columnOver, type PhaseHours, phaseHours } from '../phase-hours.ts';
import { fitResponse, type Response } from '../response.ts';
import { type SensorDraws, sensorDraws } from '../sensor-draws.ts';
import { factorHours, fitLags } from '../temperature-factor.ts';
import { HOUR_MS } from '../vocabulary.ts';
import { type Course, courseOf } from './course.ts';
import { type Calendar, habitOf } from './habit.ts';
import type { ForecastSettings } from './settings.ts';
import type { ForecastInput } from './tonight-forecast.ts';

const DAY_MS = 24 * HOUR_MS;
/** Draws that measure how large an intercept the sensors' offsets allow; nothing else of the forecast is drawn. */
const DRAWS = 200;
const SEED = 1;

/** The hours looked back on, entry by entry from `start`, and the calendar as far as the night goes. */
export interface Window {
  /** UTC milliseconds of entry 0 */
  readonly start: number;
  /** entries before this one are past */
  readonly known: number;
  /** entries from `known` to the end of the night */
  readonly leads: number;
  readonly calendar: Calendar;
  readonly response: Response;
  /** °C */
  readonly cold: Course;
  readonly room: Course;
  /** vapour pressure outdoors, Pa; all 0 where that is not measured well enough */
  readonly outdoorVapour: Course;
  /** share of a change of the outdoor vapour pressure that the room takes up within the night */
  readonly outdoorShare: number;
  /** vapour pressure of the room less that share of the outdoor one, Pa */
  readonly ownVapour: Course;
  /** what the surface was above what the response makes of both airs: sun, sky, chance; K */
  readonly rest: Course;
  /** dew-point margin of the hour records, K; NaN where not known or left out */
  readonly margin: Float64Array;
  /** standard uncertainty of a margin as the sensors allow, K */
  readonly sensorUncertaintyK: number;
}

/** Lines up the past of a surface and fits its response; null where the response cannot be fitted. */
export function windowOf(input: ForecastInput, until: number, settings: ForecastSettings): Window | null {
  const now = Math.floor(input.now / HOUR_MS) * HOUR_MS;
  const { zone, surface, room, cold, leftOut, uncertainty } = input;
  const span = { from: now - settings.windowDays * DAY_MS, to: now };
  const phase = phaseHours(
    { surface, room, cold },
    span,
    leftOut,
    zone,
    assessmentSettings,
    assessmentSettings.riskLimitPct,
  );
  const draws = (name: 'surface' | 'room' | 'cold'): SensorDraws['before'] =>
    sensorDraws(uncertainty[name], 'same-sensor', DRAWS, SEED, name).before;
  const response = fitResponse(
    phase,
    fitLags(phase, factorHours(phase, assessmentSettings.usefulDifferenceK)),
    { surface: draws('surface'), room: draws('room'), cold: draws('cold') },
    { ...assessmentSettings, resamples: DRAWS },
    SEED,
    'forecast',
  );
  if (response === null) return null;

  const known = phase.length;
  const leads = Math.round((until - now) / HOUR_MS);
  const { day, hour } = localNights(phase.start, known + leads, zone, assessmentSettings);
  const calendar = { day, hour };
  const course = (values: Float64Array): Course =>
    courseOf(values, known, habitOf(values, known, calendar, settings), settings.silentHours);
  const margin = columnOver(surface, 'margin', phase.start, known);
  for (let i = phase.lead; i < known; i++) if (phase.counted[i] === 0) margin[i] = Number.NaN;
  const outdoorVapour =
    input.coldIs === 'outdoor' ? wellKnown(phase.coldPressure, phase.roomPressure) : new Float64Array(known);
  const { outdoorShare } = settings;
  const { perHumidity, perTemperature } = phase.sensitivity;
  return {
    start: phase.start,
    known,
    leads,
    calendar,
    response,
    cold: course(phase.cold),
    room: course(phase.room),
    outdoorVapour: course(outdoorVapour),
    ownVapour: course(phase.roomPressure.map((value, i) => value - outdoorShare * outdoorVapour[i]!)),
    outdoorShare,
    rest: course(restOf(phase, response)),
    margin,
    sensorUncertaintyK: Math.hypot(
      uncertainty.surface.temperatureOffsetK,
      perHumidity * uncertainty.room.humidityOffsetPct,
      perTemperature * uncertainty.room.temperatureOffsetK,
    ),
  };
}

function restOf(phase: PhaseHours, { fit, lags }: Response): Float64Array {
  const cold = delayed(phase.cold, lags.cold, 'settled');
  const room = delayed(phase.room, lags.room, 'settled');
  return phase.surface.map((surface, i) =>
    phase.valid[i] === 1 ? surface - cold[i]! - fit.interceptK - fit.f * (room[i]! - cold[i]!) : Number.NaN,
  );
}

/** Share of the room's hours in which outdoor humidity must be known for the room's to be told from it. */
const OUTDOOR_COVERAGE = 0.8;

/** The outdoor vapour pressure, or nothing but 0 where it is not known well enough. */
function wellKnown(outdoor: Float64Array, room: Float64Array): Float64Array {
  const told = (values: Float64Array): number => values.reduce((sum, value) => sum + (Number.isNaN(value) ? 0 : 1), 0);
  return told(outdoor) >= OUTDOOR_COVERAGE * told(room) ? outdoor : new Float64Array(outdoor.length);
}
