import { localNights, usualNight } from './local-nights.ts';
import type { PlaceHours } from './place-hours.ts';
import { isCondensationHour, isRiskHour } from './risk.ts';

/** Least, mean and greatest of the hours known of a day. */
export interface Spread {
  readonly low: number;
  readonly mean: number;
  readonly high: number;
}

/** A place over one local day; null where no hour of it is known. */
export interface DayTally {
  /** local calendar day, counted in days since 1970 */
  readonly day: number;
  /** hours of the day that were looked at, 23 to 25 on a whole day, and those with a temperature that counts */
  readonly hours: number;
  readonly knownHours: number;
  /** °C */
  readonly temperature: Spread | null;
  /** % */
  readonly humidity: Spread | null;
  readonly surfaceHumidity: Spread | null;
  /** K */
  readonly margin: Spread | null;
  /** Pa */
  readonly vapourPressure: Spread | null;
  readonly riskHours: number;
  readonly condensationHours: number;
}

/** Adds up the hours of a place by local day, in order of time. @param zone IANA name that is known */
export function dayTallies(place: PlaceHours, zone: string): DayTally[] {
  const { day } = localNights(place.start, place.temperature.length, zone, usualNight);
  const out: DayTally[] = [];
  for (let from = 0; from < day.length; ) {
    let to = from + 1;
    while (to < day.length && day[to] === day[from]) to++;
    out.push(tally(place, day[from]!, from, to));
    from = to;
  }
  return out;
}

function tally(place: PlaceHours, day: number, from: number, to: number): DayTally {
  const { temperature, humidity, surfaceHumidity, margin, vapourPressure } = place;
  let knownHours = 0;
  let riskHours = 0;
  let condensationHours = 0;
  for (let i = from; i < to; i++) {
    if (!Number.isNaN(temperature[i]!)) knownHours++;
    if (isRiskHour(surfaceHumidity[i]!, temperature[i]!)) riskHours++;
    if (isCondensationHour(margin[i]!)) condensationHours++;
  }
  return {
    day,
    hours: to - from,
    knownHours,
    temperature: spread(temperature, from, to),
    humidity: spread(humidity, from, to),
    surfaceHumidity: spread(surfaceHumidity, from, to),
    margin: spread(margin, from, to),
    vapourPressure: spread(vapourPressure, from, to),
    riskHours,
    condensationHours,
  };
}

function spread(column: Float64Array, from: number, to: number): Spread | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let sum = 0;
  let count = 0;
  for (let i = from; i < to; i++) {
    const value = column[i]!;
    if (Number.isNaN(value)) continue;
    if (value < low) low = value;
    if (value > high) high = value;
    sum += value;
    count++;
  }
  return count === 0 ? null : { low, mean: sum / count, high };
}
