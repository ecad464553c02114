/**
 * How tonight's forecast looks back and how sure it must be. Chosen on one measured house under modelled ceilings and
 * scored on another (`npm run bench -- forecast` says which).
 */
export const forecastSettings = Object.freeze({
  /** days of hours looked back on */
  windowDays: 60,
  /** habits fade by a factor e in so many days */
  habitDays: 5,
  /** weight of a weekday in the habits of a weekend day, and the reverse */
  otherDayWeight: 0.5,
  /** share of a change of the outdoor vapour pressure that the room takes up within the night */
  outdoorShare: 0.3,
  /** spread of the kernel laid round each past error, K */
  kernelK: 0.5,
  /** past nights that must be known before a chance is given */
  fewestNights: 10,
  /** share of a past night's hours that must be known for it to count */
  nightCoverage: 0.8,
  /** hours without a reading after which a sensor is too silent to forecast from */
  silentHours: 6,
  /** a chance from which a warning is worth giving */
  warningChance: 0.3,
  /** an outdoor forecast issued longer ago than this is not used, h */
  staleFeedHours: 24,
  /** scored nights, and condensation nights among them, under which forecasts are not judged; common practice, no source */
  fewestScored: 30,
  fewestScoredWet: 5,
});

export type ForecastSettings = typeof forecastSettings;
