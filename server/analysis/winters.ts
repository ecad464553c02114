import { DateTime } from 'luxon';
import type { PlaceHours } from './place-hours.ts';
import { isCondensationHour, isRiskHour } from './risk.ts';
import { HOUR_MS } from './vocabulary.ts';

/** One winter year, 1 October to 30 September in local time. */
export interface WinterTally {
  /** e.g. 2025/26 */
  readonly name: string;
  /** UTC milliseconds of local midnight, 1 October */
  readonly start: number;
  /** risk hours so far at the end of each local day since 1 October, up to the day of the last valid hour */
  readonly cumulativeRiskHours: readonly number[];
  readonly validHours: number;
  readonly riskHours: number;
  readonly condensationHours: number;
  readonly condensationNights: number;
}

/** Local hours between which it is night: from the first, through midnight, to the second. */
export const nightHours = Object.freeze({ from: 18, to: 8 });

/**
 * Adds up risk hours, condensation hours and condensation nights winter by winter. Winters without a valid hour are
 * left out. A condensation night is a local night with at least one condensation hour; it belongs to the winter in
 * which it begins.
 *
 * @param zone IANA time zone
 * @throws RangeError for an unknown zone
 */
export function winterTallies(place: PlaceHours, zone: string): WinterTally[] {
  const { start, temperature, surfaceHumidity, margin } = place;
  if (!DateTime.fromMillis(start, { zone }).isValid)
    throw new RangeError(`zone is ${zone}; it must be an IANA time zone`);
  const counts: Count[] = [];
  let current: Count | undefined;
  let day: LocalDay | undefined;
  for (let i = 0; i < temperature.length; i++) {
    const risk = isRiskHour(surfaceHumidity[i]!, temperature[i]!);
    const condensation = isCondensationHour(margin[i]!);
    if (risk === null && condensation === null) continue;
    const time = start + i * HOUR_MS;
    if (current === undefined || day === undefined || time >= day.end) {
      day = localDay(time, zone);
      if (current?.october !== day.october) {
        current = { october: day.october, cumulative: [], valid: 0, risk: 0, condensation: 0, nights: new Set() };
        counts.push(current);
      }
    }
    current.valid += 1;
    if (risk) current.risk += 1;
    while (current.cumulative.length < day.number) current.cumulative.push(current.cumulative.at(-1) ?? 0);
    current.cumulative[day.number] = current.risk;
    if (condensation) {
      current.condensation += 1;
      if (time < day.morning) current.nights.add(day.number - 1);
      else if (time >= day.evening) current.nights.add(day.number);
    }
  }
  return counts.map((count) => {
    const { year } = DateTime.fromMillis(count.october, { zone });
    return {
      name: `${year}/${String((year + 1) % 100).padStart(2, '0')}`,
      start: count.october,
      cumulativeRiskHours: count.cumulative,
      validHours: count.valid,
      riskHours: count.risk,
      condensationHours: count.condensation,
      condensationNights: count.nights.size,
    };
  });
}

interface Count {
  readonly october: number;
  readonly cumulative: number[];
  valid: number;
  risk: number;
  condensation: number;
  /** numbers of the days on which the nights began */
  readonly nights: Set<number>;
}

/** A local day and its place in the winter year; UTC milliseconds. */
interface LocalDay {
  readonly october: number;
  /** days since 1 October */
  readonly number: number;
  readonly morning: number;
  readonly evening: number;
  readonly end: number;
}

function localDay(time: number, zone: string): LocalDay {
  const midnight = DateTime.fromMillis(time, { zone }).startOf('day');
  const year = midnight.month >= 10 ? midnight.year : midnight.year - 1;
  const october = midnight.set({ year, month: 10, day: 1 }).startOf('day');
  return {
    october: october.toMillis(),
    number: Math.round(midnight.diff(october, 'days').days),
    morning: midnight.set({ hour: nightHours.to }).toMillis(),
    evening: midnight.set({ hour: nightHours.from }).toMillis(),
    end: midnight.plus({ days: 1 }).toMillis(),
  };
}

const DAY_HOURS = 24;

/** Whether a calendar day is the 1st of October, on which a winter begins. @param day days since 1 January 1970 */
export function beginsWinter(day: number): boolean {
  const date = DateTime.fromMillis(day * DAY_HOURS * HOUR_MS, { zone: 'utc' });
  return date.month === 10 && date.day === 1;
}

/** The local date on which the night that contains this instant began, or null by day. */
export function nightOf(time: number, zone: string): string | null {
  const local = DateTime.fromMillis(time, { zone });
  if (local.hour >= nightHours.from) return local.toISODate();
  return local.hour < nightHours.to ? local.minus({ days: 1 }).toISODate() : null;
}
