import { DateTime } from 'luxon';
import type { AirHours } from '../physics/hidden-layer.ts';
import { localNights, usualNight } from './local-nights.ts';
import { nightHours } from './night-hours.ts';
import { HOUR_MS } from './vocabulary.ts';

/** Share of a night's hours that must be known before it can be the coldest. Common practice. */
const NIGHT_COVERAGE_WANTED = 0.7;

/** Means of one night. */
export interface NightMeans {
  /** local date on which it began, 2026-01-14 */
  readonly date: string;
  readonly knownHours: number;
  /** °C */
  readonly roomTemperature: number;
  readonly outdoorTemperature: number;
  /** Pa */
  readonly roomVapourPressure: number;
  readonly outdoorVapourPressure: number;
}

/**
 * The logged night with the lowest mean outdoor temperature; null where no night is well enough known.
 *
 * @param start UTC milliseconds of the first hour
 * @param zone IANA time zone
 */
export function coldestNight(air: AirHours, start: number, zone: string): NightMeans | null {
  const local = localNights(start, air.roomTemperature.length, zone, usualNight);
  const nights = new Map<number, { known: number; room: number; outdoor: number; pi: number; pe: number }>();
  for (let hour = 0; hour < air.roomTemperature.length; hour += 1) {
    const room = air.roomTemperature[hour]!;
    const outdoor = air.outdoorTemperature[hour]!;
    const pi = air.roomVapourPressure[hour]!;
    const pe = air.outdoorVapourPressure[hour]!;
    if (!Number.isFinite(room + outdoor + pi + pe)) continue;
    const night = local.night[hour]!;
    if (night < 0) continue;
    const sum = nights.get(night) ?? { known: 0, room: 0, outdoor: 0, pi: 0, pe: 0 };
    nights.set(night, {
      known: sum.known + 1,
      room: sum.room + room,
      outdoor: sum.outdoor + outdoor,
      pi: sum.pi + pi,
      pe: sum.pe + pe,
    });
  }
  const length = 24 - nightHours.from + nightHours.to;
  let coldest: NightMeans | null = null;
  for (const [night, sum] of nights) {
    const outdoorTemperature = sum.outdoor / sum.known;
    if (sum.known < NIGHT_COVERAGE_WANTED * length) continue;
    if (coldest !== null && coldest.outdoorTemperature <= outdoorTemperature) continue;
    coldest = {
      date: dateOf(local.firstNight + night),
      knownHours: sum.known,
      roomTemperature: sum.room / sum.known,
      outdoorTemperature,
      roomVapourPressure: sum.pi / sum.known,
      outdoorVapourPressure: sum.pe / sum.known,
    };
  }
  return coldest;
}

/** ISO date of a local calendar day counted from 1970. */
const dateOf = (day: number): string => DateTime.fromMillis(day * 24 * HOUR_MS, { zone: 'utc' }).toISODate()!;
