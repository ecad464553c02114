import { DateTime } from 'luxon';
import { nightOn } from '../analysis/forecast/night.ts';
import { type NightOutcome, outcomeOf } from '../analysis/forecast/outcome.ts';
import { type ForecastScore, type Scored, scoreForecasts } from '../analysis/forecast/score.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { Dwelling, KeptForecast, Store } from '../store/port.ts';
import { keptHours } from './forecast-keeper.ts';

const LOOKED_BACK_DAYS = 400;

/** A kept forecast and what came of its night; null: not over yet, or too little of it is known. */
export interface PastForecast {
  readonly forecast: KeptForecast;
  readonly outcome: NightOutcome | null;
}

export interface ScoreOfHour extends ForecastScore {
  /** local hour as of which the forecasts were made */
  readonly hour: number;
}

export interface ForecastScores {
  /** of all surfaces together, each night at each counted by itself */
  readonly scores: readonly ScoreOfHour[];
  readonly places: readonly { readonly placeId: number; readonly scores: readonly ScoreOfHour[] }[];
  /** newest night first */
  readonly nights: readonly PastForecast[];
}

/**
 * How the kept forecasts of a dwelling did, over the nights of the last year or so, from the hour records as they are
 * now.
 *
 * @param now UTC milliseconds; a night counts when it is over
 */
export async function forecastScores(
  store: Pick<Store, 'keptForecasts' | 'placeHours'>,
  { id, zone }: Pick<Dwelling, 'id' | 'zone'>,
  now: number,
): Promise<ForecastScores> {
  const since = DateTime.fromMillis(now, { zone }).minus({ days: LOOKED_BACK_DAYS }).toISODate()!;
  const kept = await store.keptForecasts(id, since);
  const outcomes = new Map<number, (date: string) => NightOutcome | null>();
  for (const placeId of new Set(kept.map((forecast) => forecast.placeId))) {
    const dates = kept.filter((forecast) => forecast.placeId === placeId).map(({ night }) => night);
    const first = nightOn(dayBefore(dates[0]!), zone);
    const last = nightOn(dates.at(-1)!, zone);
    const hours = await store.placeHours(
      id,
      placeId,
      first.from,
      Math.min(last.to, Math.floor(now / HOUR_MS) * HOUR_MS),
    );
    outcomes.set(placeId, (date) => {
      const night = nightOn(date, zone);
      return night.to > now ? null : outcomeOf(hours, night);
    });
  }
  const outcomeAt = (placeId: number, date: string): NightOutcome | null => outcomes.get(placeId)?.(date) ?? null;
  const nights = kept.map((forecast) => ({ forecast, outcome: outcomeAt(forecast.placeId, forecast.night) }));
  const scoresOf = (own: readonly PastForecast[]): ScoreOfHour[] => keptHours.map((hour) => scoreOfHour(hour, own));
  const places = [...outcomes.keys()]
    .sort((a, b) => a - b)
    .map((placeId) => ({ placeId, scores: scoresOf(nights.filter(({ forecast }) => forecast.placeId === placeId)) }));
  return { scores: scoresOf(nights), places, nights: nights.toReversed() };

  function scoreOfHour(hour: number, past: readonly PastForecast[]): ScoreOfHour {
    const scored = past.flatMap(({ forecast: { hour: own, placeId, night, chance }, outcome }): Scored[] => {
      if (own !== hour || outcome === null) return [];
      return [{ chance, wet: outcome.wet, wetBefore: outcomeAt(placeId, dayBefore(night))?.wet ?? null }];
    });
    return { hour, ...scoreForecasts(scored) };
  }
}

const dayBefore = (date: string): string => DateTime.fromISO(date, { zone: 'utc' }).minus({ days: 1 }).toISODate()!;
