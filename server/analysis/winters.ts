import { DateTime } from 'luxon';
import { localNights, usualNight, zoneIsKnown } from './local-nights.ts';
import type { PlaceHours } from './place-hours.ts';
import { isCondensationHour, isRiskHour } from './risk.ts';
import { HOUR_MS } from './vocabulary.ts';

const DAY_MS = 24 * HOUR_MS;

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
  if (!zoneIsKnown(zone)) throw new RangeError(`zone is ${zone}; it must be an IANA time zone`);
  const local = localNights(start, temperature.length, zone, usualNight);
  const counts: Count[] = [];
  let current: Count | undefined;
  let october = firstOfOctober(Number.NaN);
  for (let i = 0; i < temperature.length; i++) {
    const risk = isRiskHour(surfaceHumidity[i]!, temperature[i]!);
    const condensation = isCondensationHour(margin[i]!);
    if (risk === null && condensation === null) continue;
    const day = local.day[i]!;
    if (!(day >= october.day && day < october.next)) october = firstOfOctober(day);
    if (current === undefined || current.october !== october) {
      current = { october, cumulative: [], valid: 0, risk: 0, condensation: 0, nights: new Set() };
      counts.push(current);
    }
    current.valid += 1;
    if (risk) current.risk += 1;
    while (current.cumulative.length < day - october.day) current.cumulative.push(current.cumulative.at(-1) ?? 0);
    current.cumulative[day - october.day] = current.risk;
    if (condensation) {
      current.condensation += 1;
      const night = local.night[i]!;
      if (night >= 0) winterOfNight(local.firstNight + night, counts, current).nights.add(night);
    }
  }
  return counts.map((count) => {
    const { year } = count.october;
    return {
      name: `${year}/${String((year + 1) % 100).padStart(2, '0')}`,
      start: DateTime.fromObject({ year, month: 10, day: 1 }, { zone }).startOf('day').toMillis(),
      cumulativeRiskHours: count.cumulative,
      validHours: count.valid,
      riskHours: count.risk,
      condensationHours: count.condensation,
      condensationNights: count.nights.size,
    };
  });
}

interface Count {
  readonly october: October;
  readonly cumulative: number[];
  valid: number;
  risk: number;
  condensation: number;
  readonly nights: Set<number>;
}

/** Local calendar days, counted from 1970: 1 October of a year, and of the next. */
interface October {
  readonly year: number;
  readonly day: number;
  readonly next: number;
}

const noWinter: October = { year: Number.NaN, day: Number.NaN, next: Number.NaN };
/** The winter that was found last: days are asked for one after the other, and thousands of times the same. */
let lastWinter = noWinter;

/** The winter a local day belongs to; NaN belongs to none. */
function firstOfOctober(day: number): October {
  if (Number.isNaN(day)) return noWinter;
  if (day >= lastWinter.day && day < lastWinter.next) return lastWinter;
  const date = DateTime.fromMillis(day * DAY_MS, { zone: 'utc' });
  const year = date.month >= 10 ? date.year : date.year - 1;
  const october = (of: number): number => DateTime.utc(of, 10, 1).toMillis() / DAY_MS;
  lastWinter = { year, day: october(year), next: october(year + 1) };
  return lastWinter;
}

/** Whether a calendar day is the 1st of October, on which a winter begins. @param day days since 1 January 1970 */
export const beginsWinter = (day: number): boolean => firstOfOctober(day).day === day;

/** A night that begins on 30 September belongs to the winter before, where anything of that is known. */
const winterOfNight = (began: number, counts: readonly Count[], current: Count): Count =>
  (began < current.october.day ? counts.findLast(({ october }) => october.next === current.october.day) : undefined) ??
  current;
