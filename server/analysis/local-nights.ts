import { IANAZone } from 'luxon';
import { nightHours } from './night-hours.ts';
import { HOUR_MS } from './vocabulary.ts';

const DAY_HOURS = 24;
const DAY_MS = DAY_HOURS * HOUR_MS;

/** Local time of a run of UTC hours, entry by entry. */
export interface LocalNights {
  /** whole number of the local night the hour lies in, counted from the first; -1 by day */
  readonly night: Int32Array;
  /** 1 where the hour lies at least `settle` hours after nightfall and ends an hour or more before the night does */
  readonly settled: Uint8Array;
  /** local calendar day, counted in days since 1970; hour of that day, 0 to 23 */
  readonly day: Int32Array;
  readonly hour: Uint8Array;
  readonly nights: number;
  /** local calendar day on which the first night began, counted in days since 1970; NaN without a night */
  readonly firstNight: number;
}

export interface NightTimes {
  readonly nightFrom: number;
  readonly nightTo: number;
  /** hours after nightfall in which the element still gives back the sun's heat */
  readonly settleHours: number;
}

/** The night as the program takes it unless settings say otherwise, where nothing needs to settle. */
export const usualNight: NightTimes = Object.freeze({
  nightFrom: nightHours.from,
  nightTo: nightHours.to,
  settleHours: 0,
});

/** True for a name that the time zone database knows. */
export const zoneIsKnown = (zone: string): boolean => IANAZone.isValidZone(zone);

/**
 * Finds the local nights of a run of UTC hours. Nights of days on which clocks change are 23 or 25 hours apart and
 * come out right: the offset is looked up hour by hour on those days only.
 *
 * @param start UTC milliseconds, a whole hour
 * @param hours number of hours
 * @param zone IANA name that {@link zoneIsKnown}
 */
export function localNights(start: number, hours: number, zone: string, times: NightTimes): LocalNights {
  const known = IANAZone.create(zone);
  const night = new Int32Array(hours).fill(-1);
  const settled = new Uint8Array(hours);
  const day = new Int32Array(hours);
  const hourOfDay = new Uint8Array(hours);
  const { nightFrom, nightTo, settleHours } = times;
  const nightLength = (nightTo - nightFrom + DAY_HOURS) % DAY_HOURS;
  let first = Number.NaN;
  let last = -1;
  let offset = known.offset(start) * 60_000;
  let dayEndOffset = offset;
  for (let i = 0; i < hours; i++) {
    const time = start + i * HOUR_MS;
    if (i % DAY_HOURS === 0) {
      offset = known.offset(time) * 60_000;
      dayEndOffset = known.offset(time + DAY_MS) * 60_000;
    }
    const local = time + (offset === dayEndOffset ? offset : known.offset(time) * 60_000);
    day[i] = Math.floor(local / DAY_MS);
    const hour = (local - day[i]! * DAY_MS) / HOUR_MS;
    hourOfDay[i] = Math.floor(hour);
    const into = (hour - nightFrom + DAY_HOURS) % DAY_HOURS;
    if (!(into < nightLength)) continue;
    const began = Math.floor((local - into * HOUR_MS) / DAY_MS);
    if (Number.isNaN(first)) first = began;
    night[i] = began - first;
    last = began - first;
    if (into >= settleHours && into < nightLength - 1) settled[i] = 1;
  }
  return { night, settled, day, hour: hourOfDay, nights: last + 1, firstNight: first };
}
