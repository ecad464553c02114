import type { NightAhead } from '../analysis/watch/history.ts';
import type { Dwelling } from '../store/port.ts';
import { type ForecastStore, forecastDwelling } from './tonight.ts';

/** What the forecast says of the coming night, as it could be made at a moment; surfaces it can say nothing of are left out. */
export async function nightsAhead(store: ForecastStore, dwelling: Dwelling, time: number): Promise<NightAhead[]> {
  const surfaces = await forecastDwelling(store, dwelling, time);
  return surfaces.flatMap(({ place, forecast }) => {
    if (forecast.kind !== 'forecast') return [];
    const { night, chance, minimumMargin: margin, at: likeliestAt } = forecast;
    return [{ placeId: place.id, ...night, chance, margin, likeliestAt }];
  });
}
