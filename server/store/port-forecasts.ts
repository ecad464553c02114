import type { ForecastBasis, OutdoorFeed } from '../analysis/forecast/tonight-forecast.ts';

/** A forecast of one night at one surface as it was given, kept to be scored when the night is over. */
export interface KeptForecast {
  readonly dwellingId: number;
  readonly placeId: number;
  /** local date on which the night begins, 2026-01-14 */
  readonly night: string;
  /** local hour as of which it was made: nothing later was looked at */
  readonly hour: number;
  /** when that was worked out, UTC ms: later where the program was not running then */
  readonly madeAt: number;
  readonly chance: number;
  /** lowest hourly margin, K */
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** hour in which it is likeliest, UTC ms */
  readonly at: number;
  readonly basis: ForecastBasis;
}

export interface ForecastStore {
  /** Keeps the first forecast of a place, night and hour; false where there is one already, which stays as it is. */
  keepForecast(forecast: KeptForecast): Promise<boolean>;
  /** Forecasts of nights from a local date on, in order of night, hour and place. */
  keptForecasts(dwellingId: number, fromNight: string): Promise<KeptForecast[]>;
  /** Keeps an outdoor forecast; false where the last one of the same issue that was received by then says the same. */
  keepOutdoorForecast(dwellingId: number, forecast: OutdoorFeed): Promise<boolean>;
  /** Outdoor forecasts issued from a time on, in order of issue and receipt. */
  outdoorForecasts(dwellingId: number, issuedFrom: number): Promise<OutdoorFeed[]>;
}
