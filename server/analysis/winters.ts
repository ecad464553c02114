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
  let dayEnd = Number.NEGATIVE_INFINITY;
  let day = 0;
  for (let i = 0; i < temperature.length; i++) {
    const risk = isRiskHour(surfaceHumidity[i]!, temperature[i]!);
    const condensation = isCondensationHour(margin[i]!);
    if (risk === null && condensation === null) continue;
    const time = start + i * HOUR_MS;
    if (current === undefined || time >= dayEnd) {
      const midnight = DateTime.fromMillis(time, { zone }).startOf('day');
      const october = firstOfOctober(midnight);
      dayEnd = midnight.plus({ days: 1 }).toMillis();
      day = Math.round(midnight.diff(october, 'days').days);
      if (current?.october.toMillis() !== october.toMillis()) {
        current = { october, cumulative: [], valid: 0, risk: 0, condensation: 0, nights: new Set() };
        counts.push(current);
      }
    }
    current.valid += 1;
    if (risk) current.risk += 1;
    while (current.cumulative.length < day) current.cumulative.push(current.cumulative.at(-1) ?? 0);
    current.cumulative[day] = current.risk;
    if (condensation) {
      current.condensation += 1;
      const night = nightOf(time, zone);
      if (night !== null) current.nights.add(night);
    }
  }
  return counts.map((count) => ({
    name: `${count.october.year}/${String((count.october.year + 1) % 100).padStart(2, '0')}`,
    start: count.october.toMillis(),
    cumulativeRiskHours: count.cumulative,
    validHours: count.valid,
    riskHours: count.risk,
    condensationHours: count.condensation,
    condensationNights: count.nights.size,
  }));
}

interface Count {
  october: DateTime;
  cumulative: number[];
  valid: number;
  risk: number;
  condensation: number;
  nights: Set<string>;
}

/** Local midnight of the 1 October with which the winter year of this day began. */
function firstOfOctober(midnight: DateTime): DateTime {
  const year = midnight.month >= 10 ? midnight.year : midnight.year - 1;
  return midnight.set({ year, month: 10, day: 1 }).startOf('day');
}

/** The local date on which the night that contains this instant began, or null by day. */
export function nightOf(time: number, zone: string): string | null {
  const local = DateTime.fromMillis(time, { zone });
  if (local.hour >= nightHours.from) return local.toISODate();
  return local.hour < nightHours.to ? local.minus({ days: 1 }).toISODate() : null;
}
