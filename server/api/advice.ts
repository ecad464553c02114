import { adviceOn } from '../analysis/advice.ts';
import { forecastSettings } from '../analysis/forecast/settings.ts';
import type { DwellingNow } from '../analysis/now.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { forecastDwelling } from '../watch/tonight.ts';
import type { Handlers } from './router.ts';
import { adviceView, toInstant } from './views.ts';

export interface AdviceParts {
  readonly store: Store;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
  readonly stateOf: (dwelling: Dwelling, time: number) => Promise<DwellingNow>;
}

/** What to do about how things are now and about the night to come. */
export function adviceHandlers({ store, clock, dwellingOf, stateOf }: AdviceParts): Pick<Handlers, 'getAdvice'> {
  return {
    async getAdvice({ params }) {
      const dwelling = await dwellingOf(params);
      const time = clock();
      const [{ places }, forecasts] = await Promise.all([
        stateOf(dwelling, time),
        forecastDwelling(store, dwelling, time),
      ]);
      const coming = forecasts.filter(
        ({ forecast }) => forecast.kind === 'forecast' && forecast.chance >= forecastSettings.warningChance,
      );
      const advice = adviceOn(places, new Set(coming.map(({ place }) => place.id)));
      return { time: toInstant(time), advice: advice.map(adviceView) };
    },
  };
}
