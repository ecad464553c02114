import { DateTime } from 'luxon';
import type { Span } from '../assessment.ts';
import { nightHours } from '../night-hours.ts';

/** A local night. */
export interface Night extends Span {
  /** local date on which it begins, 2026-01-14 */
  readonly date: string;
}

/**
 * The night that a forecast made now is about: the one that runs or, by day, the one that comes. 13 or 15 hours long when
 * clocks change in it.
 *
 * @param now UTC milliseconds
 * @param zone IANA time zone
 */
export function tonight(now: number, zone: string): Night {
  const local = DateTime.fromMillis(now, { zone });
  return nightOfDate(local.hour < nightHours.to ? local.minus({ days: 1 }) : local);
}

/**
 * The night that begins on a local date.
 *
 * @param date 2026-01-14
 */
export const nightOn = (date: string, zone: string): Night => nightOfDate(DateTime.fromISO(date, { zone }));

function nightOfDate(local: DateTime): Night {
  const midnight = local.startOf('day');
  return {
    date: midnight.toISODate()!,
    from: midnight.set({ hour: nightHours.from }).toMillis(),
    to: midnight.plus({ days: 1 }).set({ hour: nightHours.to }).toMillis(),
  };
}
