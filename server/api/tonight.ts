import { tonight } from '../analysis/forecast/night.ts';
import { reasonWords } from '../analysis/forecast/reason-words.ts';
import { forecastSettings } from '../analysis/forecast/settings.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { forecastDwelling, type SurfaceTonight } from '../watch/tonight.ts';
import type { Tonight } from './contract/tonight.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export interface TonightParts {
  readonly store: Store;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}

/** Tonight's forecast of every surface. */
export function tonightHandlers({ store, clock, dwellingOf }: TonightParts): Pick<Handlers, 'getTonight'> {
  return {
    async getTonight({ params }) {
      const dwelling = await dwellingOf(params);
      const time = clock();
      const { date, from, to } = tonight(time, dwelling.zone);
      const surfaces = await forecastDwelling(store, dwelling, time);
      return {
        time: toInstant(time),
        night: { date, from: toInstant(from), to: toInstant(to) },
        warningChance: forecastSettings.warningChance,
        surfaces: surfaces.map(surfaceView),
        score: null,
      };
    },
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
