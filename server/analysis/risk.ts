import { atRisk, RISK_HUMIDITY } from '../physics/hours-over.ts';

/**
 * Whether an hour is a risk hour, by its mean state; null where either value is not known.
 *
 * @param surfaceHumidity %
 * @param temperature surface temperature, °C
 */
export function isRiskHour(surfaceHumidity: number, temperature: number): boolean | null {
  if (!(Number.isFinite(surfaceHumidity) && Number.isFinite(temperature))) return null;
  return atRisk(surfaceHumidity, temperature, RISK_HUMIDITY);
}

/** Whether moisture settles on a surface in this hour: dew-point margin, K, at or below 0. */
export function isCondensationHour(margin: number): boolean | null {
  return Number.isFinite(margin) ? margin <= 0 : null;
}

/** The criterion of a risk hour in words, to stand beside every count of them. */
export const riskCriterionWords = (limitPct: number = RISK_HUMIDITY): string =>
  `surface humidity at or over ${limitPct} % with the surface above 0 °C`;
