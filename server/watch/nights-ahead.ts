import { HOUR_MS } from '../analysis/vocabulary.ts';
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

/** The same, worked out once an hour: it is made of hour records. A home whose hours are rebuilt is a little late. */
export function nightsAheadByHour(
  store: ForecastStore,
): (dwelling: Dwelling, time: number) => Promise<readonly NightAhead[]> {
  const kept = new Map<number, { readonly hour: number; readonly nights: Promise<readonly NightAhead[]> }>();
  return (dwelling, time) => {
    const hour = Math.floor(time / HOUR_MS);
    const known = kept.get(dwelling.id);
    if (known?.hour === hour) return known.nights;
    const nights = nightsAhead(store, dwelling, time);
    kept.set(dwelling.id, { hour, nights });
    nights.catch(() => kept.delete(dwelling.id));
    return nights;
  };
}
