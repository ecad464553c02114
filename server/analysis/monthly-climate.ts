import { DateTime } from 'luxon';
import type { ClimateMonth } from '../physics/condensation-year.ts';
import type { AirHours } from '../physics/hidden-layer.ts';
import { HOUR_MS } from './vocabulary.ts';

/** Share of a calendar month's hours, over all years logged, that must be known before its means count. Common practice. */
const MONTH_COVERAGE_WANTED = 0.75;

export type LoggedClimate =
  | { readonly kind: 'year'; readonly months: readonly ClimateMonth[] }
  | { readonly kind: 'not-enough'; readonly missing: readonly string[] };

const monthNames = [
  ...['January', 'February', 'March', 'April', 'May', 'June'],
  ...['July', 'August', 'September', 'October', 'November', 'December'],
];

/**
 * Monthly means of logged air, January to December in local time; the same month of several years is averaged.
 * Vapour pressures are averaged as pressures.
 *
 * @param start UTC milliseconds of the first hour
 * @param zone IANA time zone
 * @throws RangeError for an unknown zone
 */
export function monthlyClimate(air: AirHours, start: number, zone: string): LoggedClimate {
  const first = DateTime.fromMillis(start, { zone });
  if (!first.isValid) throw new RangeError(`zone is ${zone}; it must be an IANA time zone`);
  const hours = air.roomTemperature.length;
  const sums = monthNames.map(() => ({ known: 0, hours: 0, days: 0, years: 0, room: 0, outdoor: 0, pi: 0, pe: 0 }));
  let month = first.startOf('month');
  while (month.toMillis() < start + hours * HOUR_MS) {
    const next = month.plus({ months: 1 });
    const sum = sums[month.month - 1]!;
    const from = Math.max(0, Math.ceil((month.toMillis() - start) / HOUR_MS));
    const to = Math.min(hours, Math.ceil((next.toMillis() - start) / HOUR_MS));
    sum.hours += (next.toMillis() - month.toMillis()) / HOUR_MS;
    sum.days += month.daysInMonth ?? 0;
    sum.years += 1;
    for (let hour = from; hour < to; hour += 1) {
      const room = air.roomTemperature[hour]!;
      const outdoor = air.outdoorTemperature[hour]!;
      const pi = air.roomVapourPressure[hour]!;
      const pe = air.outdoorVapourPressure[hour]!;
      if (!Number.isFinite(room + outdoor + pi + pe)) continue;
      sum.known += 1;
      sum.room += room;
      sum.outdoor += outdoor;
      sum.pi += pi;
      sum.pe += pe;
    }
    month = next;
  }
  // A log seldom begins and ends on the first of a month: a month met in part twice counts with what is known of it,
  // measured against one whole month.
  const covered = sums.map((sum) => sum.years > 0 && sum.known >= MONTH_COVERAGE_WANTED * (sum.hours / sum.years));
  const missing = monthNames.filter((_, index) => !covered[index]);
  if (missing.length > 0) return { kind: 'not-enough', missing };
  return {
    kind: 'year',
    months: sums.map((sum, index) => ({
      name: monthNames[index]!,
      days: sum.days / sum.years,
      roomTemperature: sum.room / sum.known,
      outdoorTemperature: sum.outdoor / sum.known,
      roomVapourPressure: sum.pi / sum.known,
      outdoorVapourPressure: sum.pe / sum.known,
    })),
  };
}
