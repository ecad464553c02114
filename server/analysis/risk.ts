/**
 * The criteria of a risk hour and a condensation hour. `null` or NaN in, `null` out.
 */
export const riskCriteria = Object.freeze({
  /** a risk hour has at least this surface relative humidity, % */
  humidity: 80,
  /** and a surface warmer than this, °C */
  temperature: 0,
});

/**
 * Whether mould may grow at a surface in this hour, by its mean state.
 *
 * @param surfaceHumidity %
 * @param temperature surface temperature, °C
 * @source 80 %: ISO 13788:2012, 5 (there a monthly mean; by the hour it is an indicator)
 */
export function isRiskHour(surfaceHumidity: number, temperature: number, criteria = riskCriteria): boolean | null {
  if (!(Number.isFinite(surfaceHumidity) && Number.isFinite(temperature))) return null;
  return surfaceHumidity >= criteria.humidity && temperature > criteria.temperature;
}

/** Whether moisture settles on a surface in this hour: dew-point margin, K, at or below 0. */
export function isCondensationHour(margin: number): boolean | null {
  return Number.isFinite(margin) ? margin <= 0 : null;
}

/** The criterion of a risk hour in words, to stand beside every count of them. */
export const riskCriterionWords = `surface humidity at or over ${riskCriteria.humidity} % with the surface above ${riskCriteria.temperature} °C`;
