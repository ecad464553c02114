import { type Trend, trendOf, trendSpan, trendsOf } from '../analysis/trend.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { Dwelling, Place, Placement, Store } from '../store/port.ts';

/**
 * The trends of the last hours at each place. Hours before the sensor that stands there now was put there are left out:
 * a change of sensor is no change of the place.
 */
export async function readTrends(
  store: Pick<Store, 'hourColumns'>,
  dwelling: Dwelling,
  places: readonly Place[],
  placements: readonly Placement[],
  time: number,
): Promise<Map<number, Trend[]>> {
  const span = trendSpan(time);
  const ofPlaces = places.map(async ({ id, kind }): Promise<[number, Trend[]]> => {
    const stays = placements.filter(({ placeId, to }) => placeId === id && to === null);
    const since = Math.max(span.from, ...stays.map(({ from }) => Math.ceil(from / HOUR_MS) * HOUR_MS));
    if (since >= span.to) return [id, []];
    const names = trendsOf(kind);
    const columns = await store.hourColumns(dwelling.id, id, since, span.to, names);
    return [id, names.flatMap((name) => trendOf(name, columns[name]) ?? [])];
  });
  return new Map(await Promise.all(ofPlaces));
}
