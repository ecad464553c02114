import { HOUR_MS, type PlaceKind } from '../vocabulary.ts';
import { type HealthSettings, healthSettings } from './settings.ts';
import { runsOf } from './shared.ts';
import { saturationAllowed, saturationLeftOut } from './stuck-at-100.ts';

/** Extremes of consecutive hours of a place as its hour records hold them, NaN for missing. */
export interface HourExtremes {
  /** °C */
  readonly temperatureMin: Float64Array;
  readonly temperatureMax: Float64Array;
  /** % */
  readonly humidityMin: Float64Array;
  readonly humidityMax: Float64Array;
}

/** An entry an hour, 1: what was measured then counts as not known. */
export interface DoubtfulHours {
  readonly temperature: Uint8Array;
  readonly humidity: Uint8Array;
}

/** A fault can be told from hours up to so far away on either side, hours. */
export const doubtReachHours = Math.ceil(
  Math.max(
    healthSettings.flatAllMs,
    healthSettings.flatAloneMs,
    healthSettings.saturatedRoomMs,
    healthSettings.saturatedLoftMs,
    healthSettings.saturatedOutdoorMs,
  ) / HOUR_MS,
);

/**
 * Hours of a place that count nowhere, because its sensor repeated one value or its humidity stood at 100 % for longer
 * than air does there. Worked out from the hour records alone, so that it follows from the readings and from nothing else:
 * the records keep what was measured.
 */
export function doubtfulHours(
  kind: PlaceKind,
  hours: HourExtremes,
  settings: HealthSettings = healthSettings,
): DoubtfulHours {
  const { temperatureMin, temperatureMax, humidityMin, humidityMax } = hours;
  const length = temperatureMin.length;
  const doubts = { temperature: new Uint8Array(length), humidity: new Uint8Array(length) };
  const withHumidity = (i: number): boolean => !Number.isNaN(humidityMin[i]!);
  const steady = (i: number): boolean =>
    temperatureMin[i] === temperatureMax[i] && (!withHumidity(i) || humidityMin[i] === humidityMax[i]);
  const asNext = (i: number): boolean =>
    steady(i) &&
    steady(i + 1) &&
    temperatureMin[i] === temperatureMin[i + 1] &&
    (withHumidity(i) ? humidityMin[i] === humidityMin[i + 1] : !withHumidity(i + 1));
  for (const { first, last } of runsOf(length - 1, asNext)) {
    const tells = withHumidity(first) && humidityMin[first]! < settings.saturatedPct;
    const least = tells ? settings.flatAllMs : settings.flatAloneMs;
    if ((last - first + 2) * HOUR_MS < least) continue;
    doubts.temperature.fill(1, first, last + 2);
    doubts.humidity.fill(1, first, last + 2);
  }
  if (!saturationLeftOut(kind)) return doubts;
  const allowed = saturationAllowed(kind, settings);
  const doubt = (first: number, end: number): void => {
    if ((end - first) * HOUR_MS >= allowed) doubts.humidity.fill(1, first, end);
  };
  const full = (i: number): boolean => humidityMin[i]! >= settings.saturatedPct;
  for (const { first, last } of runsOf(length, full)) doubt(first, last + 1);
  // a calibration shows a humidity that stood at 100 % as another number, but as one number all the time
  const stands = (i: number): boolean => humidityMin[i] === humidityMax[i];
  const standsOn = (i: number): boolean =>
    humidityMin[i]! >= settings.saturatedCorrectedPct &&
    stands(i) &&
    stands(i + 1) &&
    humidityMin[i] === humidityMin[i + 1];
  for (const { first, last } of runsOf(length - 1, standsOn)) doubt(first, last + 2);
  return doubts;
}
