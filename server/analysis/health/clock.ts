import { HOUR_MS } from '../vocabulary.ts';
import type { HealthFinding, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { medianOf, robustSlope, spanWords } from './shared.ts';

const MINUTE_MS = 60_000;
const DAY_MS = 24 * HOUR_MS;

/**
 * The device's own clock against the time of arrival. The store keeps no time of arrival; what is known is what was
 * watched while the program ran, and what was refused because its time could not be true.
 */
export function clockSkew(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  return [...refused(window), ...skewed(window, settings)];
}

function refused({ clockAhead, clockTooEarly, from, now }: SensorWindow): HealthFinding[] {
  if (clockAhead + clockTooEarly === 0) return [];
  const told = [
    ...(clockAhead > 0 ? [`${clockAhead} from the future`] : []),
    ...(clockTooEarly > 0 ? [`${clockTooEarly} from a clock that was never set`] : []),
  ];
  return [
    {
      code: 'clock-skew',
      severity: 'warning',
      message: `Messages were set aside because of their time stamp: ${told.join(', ')}.`,
      data: { ahead: clockAhead, tooEarly: clockTooEarly },
      from,
      to: now,
      whatToDo:
        'Let the device fetch the time (NTP) before it measures and send UTC; or let it send no time, then the time of arrival counts.',
      effect: { kind: 'shown' },
    },
  ];
}

function skewed({ arrivals }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  if (arrivals === null || arrivals.lags.length < settings.clockHours) return [];
  const lag = medianOf(arrivals.lags);
  if (Math.abs(lag) < settings.clockSkewMs) return [];
  const spread = medianOf(arrivals.lags.map((one) => Math.abs(one - lag)));
  if (spread > Math.max(MINUTE_MS, Math.abs(lag) / 5)) return [];
  const hours = Math.round(lag / HOUR_MS);
  const whole = hours !== 0 && Math.abs(lag - hours * HOUR_MS) < settings.clockSkewMs;
  return [
    {
      code: 'clock-skew',
      severity: 'warning',
      message: `Its time stamps are ${spanWords(Math.abs(lag))} ${lag > 0 ? 'behind' : 'ahead of'} the time of arrival, steadily over ${arrivals.lags.length} hours${whole ? ': whole hours mean local time sent as UTC' : ''}.`,
      data: { behindSeconds: lag / 1000, hoursWatched: arrivals.lags.length, wholeHours: whole ? hours : null },
      from: arrivals.times[0]!,
      to: arrivals.times.at(-1)!,
      whatToDo: whole
        ? 'Let the device send UTC, or its local time with the offset from UTC.'
        : 'Let the device fetch the time (NTP) more often; if it keeps readings back before sending, this is no fault.',
      effect: { kind: 'shown' },
    },
  ];
}

/** Lags that grow or shrink steadily: a clock that runs fast or slow and is not corrected. */
export function clockDrift({ arrivals }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  if (arrivals === null || arrivals.lags.length < settings.clockDriftHours) return [];
  const slope = robustSlope(arrivals.times, arrivals.lags);
  if (slope === null || slope.low * slope.high <= 0) return [];
  const perDay = (slope.value * DAY_MS) / 1000;
  if (Math.abs(perDay) < settings.clockDriftSecondsPerDay) return [];
  return [
    {
      code: 'clock-drift',
      severity: 'caution',
      message: `Its clock ${perDay > 0 ? 'loses' : 'gains'} ${Math.abs(perDay).toFixed(0)} seconds a day.`,
      data: {
        secondsPerDay: perDay,
        lowSecondsPerDay: (slope.low * DAY_MS) / 1000,
        highSecondsPerDay: (slope.high * DAY_MS) / 1000,
        hoursWatched: arrivals.lags.length,
      },
      from: arrivals.times[0]!,
      to: arrivals.times.at(-1)!,
      whatToDo: 'Let the device fetch the time (NTP) once a day, or send no time at all.',
      effect: { kind: 'shown' },
    },
  ];
}
