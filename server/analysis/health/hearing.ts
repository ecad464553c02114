import { HOUR_MS } from '../vocabulary.ts';

export type HearingState = 'heard' | 'late' | 'silent' | 'never-heard';

/** After how long without a reading a sensor is late, and silent. */
export const hearingSettings = Object.freeze({
  /** intervals of its own that it may miss */
  missedIntervals: 3,
  /** but never late before this, ms */
  lateAfterMs: HOUR_MS,
  silentAfterMs: 24 * HOUR_MS,
  intervalSeconds: 600,
});

/**
 * Whether a sensor is being heard.
 *
 * @param now UTC milliseconds
 * @param last UTC milliseconds of its latest reading; null: none ever
 * @param intervalSeconds its usual spacing; null: not known
 */
export function hearing(
  now: number,
  last: number | null,
  intervalSeconds: number | null,
  settings = hearingSettings,
): HearingState {
  if (last === null) return 'never-heard';
  const age = now - last;
  const interval = intervalSeconds ?? settings.intervalSeconds;
  if (age <= Math.max(settings.missedIntervals * interval * 1000, settings.lateAfterMs)) return 'heard';
  return age <= settings.silentAfterMs ? 'late' : 'silent';
}
