import { dewPoint, saturationPressure } from '../physics/saturation.ts';
import type { Span } from './assessment.ts';
import { localNights, type NightTimes } from './local-nights.ts';
import type { PlaceHours } from './place-hours.ts';
import { HOUR_MS } from './vocabulary.ts';

/** Hours of drivers taken from before a phase, so that a slow element's past is known at its first hour. */
export const LEAD_HOURS = 96;
/** Longest gap in a driver that is bridged by a straight line so that its delayed form goes on, h. */
const BRIDGED_HOURS = 12;

/**
 * One phase of one surface with the air on both sides, entry by entry, NaN where not known. The first `lead` entries
 * lie before the phase and only feed delays.
 */
export interface PhaseHours {
  /** UTC milliseconds of entry 0 */
  readonly start: number;
  readonly length: number;
  readonly lead: number;
  readonly surface: Float64Array;
  readonly room: Float64Array;
  readonly cold: Float64Array;
  /** room and cold-side vapour pressure, Pa */
  readonly roomPressure: Float64Array;
  readonly coldPressure: Float64Array;
  /** a surface at or below this temperature has at least the risk limit of surface humidity, °C */
  readonly riskAt: Float64Array;
  /** a surface at or below this temperature is wet, °C */
  readonly wetAt: Float64Array;
  /** 1 in the phase and not left out */
  readonly counted: Uint8Array;
  /** 1 where counted and surface, room and cold side are known */
  readonly valid: Uint8Array;
  /** night number, -1 by day and outside the phase */
  readonly night: Int32Array;
  /** 1 in hours of the night fit for the temperature factor */
  readonly settled: Uint8Array;
  readonly day: Int32Array;
  /** local hour of the day */
  readonly hour: Uint8Array;
  readonly nights: number;
  /** means over counted hours with humidity: room temperature °C, humidity %, and K per unit of ln(pressure) */
  readonly sensitivity: WetnessSensitivity;
}

/** How the temperatures at which a surface is at risk, or wet, move with the room sensor's offsets. */
export interface WetnessSensitivity {
  /** K per % of humidity offset */
  readonly perHumidity: number;
  /** K per K of room temperature offset */
  readonly perTemperature: number;
}

export interface PhasePlaces {
  readonly surface: PlaceHours;
  readonly room: PlaceHours;
  readonly cold: PlaceHours;
}

/** The part of a place's column that a run of hours covers, NaN elsewhere. */
export function columnOver(hours: PlaceHours, column: keyof PlaceHours, start: number, length: number): Float64Array {
  const source = hours[column] as Float64Array;
  const out = new Float64Array(length).fill(Number.NaN);
  const shift = Math.round((start - hours.start) / HOUR_MS);
  const from = Math.max(0, -shift);
  const to = Math.min(length, source.length - shift);
  for (let i = from; i < to; i++) out[i] = source[i + shift]!;
  return out;
}

function bridge(values: Float64Array): void {
  let known = -1;
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i]!)) continue;
    const gap = i - known - 1;
    if (known >= 0 && gap > 0 && gap <= BRIDGED_HOURS) {
      const step = (values[i]! - values[known]!) / (gap + 1);
      for (let k = 1; k <= gap; k++) values[known + k] = values[known]! + step * k;
    }
    known = i;
  }
}

const LEAST_PRESSURE = saturationPressure(-59);
const MOST_PRESSURE = saturationPressure(99);

const dewPointOrNaN = (pressure: number): number =>
  pressure >= LEAST_PRESSURE && pressure <= MOST_PRESSURE ? dewPoint(pressure) : Number.NaN;

/**
 * Lines up a phase.
 *
 * @param limit surface humidity from which an hour is a risk hour, %
 */
export function phaseHours(
  places: PhasePlaces,
  span: Span,
  leftOut: readonly Span[],
  zone: string,
  times: NightTimes,
  limit: number,
): PhaseHours {
  const first = Math.ceil(span.from / HOUR_MS) * HOUR_MS;
  const last = Math.floor(span.to / HOUR_MS) * HOUR_MS;
  const lead = LEAD_HOURS;
  const start = first - lead * HOUR_MS;
  const length = lead + Math.max(0, Math.round((last - first) / HOUR_MS));
  const surface = columnOver(places.surface, 'temperature', start, length);
  const room = columnOver(places.room, 'temperature', start, length);
  const cold = columnOver(places.cold, 'temperature', start, length);
  const roomPressure = columnOver(places.room, 'vapourPressure', start, length);
  const roomHumidity = columnOver(places.room, 'humidity', start, length);
  const coldPressure = columnOver(places.cold, 'vapourPressure', start, length);
  const surfaceHumidity = columnOver(places.surface, 'surfaceHumidity', start, length);
  const margin = columnOver(places.surface, 'margin', start, length);
  const riskAt = new Float64Array(length).fill(Number.NaN);
  const wetAt = new Float64Array(length).fill(Number.NaN);
  const counted = new Uint8Array(length);
  const valid = new Uint8Array(length);
  const local = localNights(first, length - lead, zone, times);
  const night = new Int32Array(length).fill(-1);
  const settled = new Uint8Array(length);
  const day = new Int32Array(length).fill(-1);
  night.set(local.night, lead);
  settled.set(local.settled, lead);
  day.set(local.day, lead);
  const hour = new Uint8Array(length);
  hour.set(local.hour, lead);
  let humiditySum = 0;
  let perTemperatureSum = 0;
  let n = 0;
  for (let i = lead; i < length; i++) {
    const time = start + i * HOUR_MS;
    let inside = 1;
    for (const span of leftOut) if (time + HOUR_MS > span.from && time < span.to) inside = 0;
    counted[i] = inside;
    if (inside === 0) {
      settled[i] = 0;
      night[i] = -1;
      continue;
    }
    const temperature = surface[i]!;
    if (Number.isFinite(temperature + room[i]! + cold[i]!)) valid[i] = 1;
    const ownPressure =
      temperature >= -60 && temperature <= 100
        ? (surfaceHumidity[i]! / 100) * saturationPressure(temperature)
        : Number.NaN;
    const pressure = ownPressure >= 0 ? ownPressure : roomPressure[i]!;
    riskAt[i] = dewPointOrNaN((100 * pressure) / limit);
    const ownWetAt = temperature - margin[i]!;
    wetAt[i] = Number.isNaN(ownWetAt) ? dewPointOrNaN(pressure) : ownWetAt;
    if (riskAt[i]! > 0 && room[i]! > -60 && roomHumidity[i]! > 1) {
      // slopes of the curve over water: dT/d ln p at the surface, d ln p/dT at the room sensor
      const perPressure = (237.3 + riskAt[i]!) ** 2 / (17.269 * 237.3);
      humiditySum += perPressure / roomHumidity[i]!;
      perTemperatureSum += (perPressure * (17.269 * 237.3)) / (237.3 + room[i]!) ** 2;
      n += 1;
    }
  }
  bridge(room);
  bridge(cold);
  return {
    start,
    length,
    lead,
    surface,
    room,
    cold,
    roomPressure,
    coldPressure,
    riskAt,
    wetAt,
    counted,
    valid,
    night,
    settled,
    day,
    hour,
    nights: local.nights,
    sensitivity: {
      perHumidity: n === 0 ? 0 : humiditySum / n,
      perTemperature: n === 0 ? 0 : perTemperatureSum / n,
    },
  };
}
