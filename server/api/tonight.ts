import { tonight } from '../analysis/forecast/night.ts';
import { reasonWords } from '../analysis/forecast/reason-words.ts';
import { forecastSettings } from '../analysis/forecast/settings.ts';
import { nightHours } from '../analysis/night-hours.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { forecastScores, type PastForecast, type ScoreOfHour } from '../watch/forecast-scores.ts';
import { forecastDwelling, type SurfaceTonight } from '../watch/tonight.ts';
import type { ForecastScores, Tonight } from './contract/tonight.ts';
import type { Revisions } from './revisions.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export interface TonightParts {
  readonly store: Store;
  readonly revisions: Revisions;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}

/** Tonight's forecast of every surface. */
export function tonightHandlers(parts: TonightParts): Pick<Handlers, 'getTonight' | 'getForecastScore'> {
  const { store, clock, dwellingOf } = parts;
  const forecast = keptReady(parts);
  return {
    async getTonight({ params }) {
      const dwelling = await dwellingOf(params);
      const time = clock();
      const { date, from, to } = tonight(time, dwelling.zone);
      const surfaces = await forecast(dwelling, time);
      const { scores } = await forecastScores(store, dwelling, time);
      const evening = scores.find(({ hour }) => hour === nightHours.from);
      return {
        time: toInstant(time),
        night: { date, from: toInstant(from), to: toInstant(to) },
        warningChance: forecastSettings.warningChance,
        surfaces: surfaces.map(surfaceView),
        score: evening === undefined || evening.nights === 0 ? null : scoreView(evening),
      };
    },

    async getForecastScore({ params }) {
      const dwelling = await dwellingOf(params);
      const [{ scores, places, nights }, named] = await Promise.all([
        forecastScores(store, dwelling, clock()),
        store.places(dwelling.id),
      ]);
      return {
        warningChance: forecastSettings.warningChance,
        scores: scores.map(scoreView),
        places: places.map(({ placeId, scores: own }) => ({
          placeId,
          name: named.find(({ id }) => id === placeId)?.name ?? String(placeId),
          scores: own.map(scoreView),
        })),
        nights: nights.map(pastView),
      };
    },
  };
}

/** Forecasts kept ready until a reading, the story or the hour changes them; a dwelling needs one. */
const MOST_KEPT = 64;

function keptReady({ store, revisions }: TonightParts): (dwelling: Dwelling, now: number) => Promise<SurfaceTonight[]> {
  const kept = new Map<number, { key: string; surfaces: Promise<SurfaceTonight[]> }>();
  return (dwelling, now) => {
    const key = `${revisions.of(dwelling.id)} ${Math.floor(now / HOUR_MS)} ${dwelling.zone}`;
    const known = kept.get(dwelling.id);
    if (known?.key === key) return known.surfaces;
    const surfaces = forecastDwelling(store, dwelling, now);
    kept.set(dwelling.id, { key, surfaces });
    surfaces.catch(() => kept.delete(dwelling.id));
    const oldest = kept.keys().next();
    if (kept.size > MOST_KEPT && !oldest.done) kept.delete(oldest.value);
    return surfaces;
  };
}

function surfaceView({ place, forecast }: SurfaceTonight): Tonight['surfaces'][number] {
  const whose = { placeId: place.id, name: place.name };
  if (forecast.kind === 'not-enough') {
    const reasons = forecast.reasons.map((reason) => ({
      code: reason.code,
      message: reasonWords(reason),
      data: { ...reason.data },
    }));
    return { ...whose, kind: forecast.kind, reasons };
  }
  const { kind, chance, minimumMargin, at, basis, working } = forecast;
  const instantOf = (time: number | null): string | null => (time === null ? null : toInstant(time));
  return {
    ...whose,
    kind,
    chance,
    minimumMargin: { ...minimumMargin },
    at: toInstant(at),
    basis,
    working: {
      ...working,
      expected: { ...working.expected },
      feedIssued: instantOf(working.feedIssued),
      staleFeedIssued: instantOf(working.staleFeedIssued),
    },
  };
}

const scoreView = (score: ScoreOfHour): ForecastScores['scores'][number] => ({
  ...score,
  reliability: score.reliability.map((bin) => ({ ...bin })),
});

const pastView = ({ forecast, outcome }: PastForecast): ForecastScores['nights'][number] => {
  const { placeId, night, hour, madeAt, chance, value, low, high, at, basis } = forecast;
  return {
    placeId,
    night,
    hour,
    madeAt: toInstant(madeAt),
    chance,
    minimumMargin: { value, low, high },
    at: toInstant(at),
    basis,
    outcome: outcome && { ...outcome },
  };
};
