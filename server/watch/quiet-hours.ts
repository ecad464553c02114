import { DateTime } from 'luxon';
import type { QuietHours } from '../store/port.ts';

/**
 * Whether a moment lies in quiet hours by the clock on the wall of the home, so that they are right over midnight and in
 * nights in which clocks change.
 *
 * @param zone IANA time zone
 */
export function isQuiet(time: number, zone: string, quiet: QuietHours): boolean {
  const local = DateTime.fromMillis(time, { zone });
  const minute = local.hour * 60 + local.minute;
  const { fromMinute, toMinute } = quiet;
  return fromMinute <= toMinute ? minute >= fromMinute && minute < toMinute : minute >= fromMinute || minute < toMinute;
}
