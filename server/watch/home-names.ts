import { isSurface } from '../analysis/vocabulary.ts';
import type { Dwelling, Store } from '../store/port.ts';
import type { HomeNames } from './compose-message.ts';

/** What the places of a home are called now. */
export async function homeNames(store: Pick<Store, 'places'>, { id, name, zone }: Dwelling): Promise<HomeNames> {
  const places = await store.places(id);
  const nameOf = (placeId: number): string => places.find((place) => place.id === placeId)?.name ?? `place ${placeId}`;
  const firstRoom = places.find(({ kind }) => kind === 'room-air');
  return {
    dwelling: name,
    zone,
    place: nameOf,
    roomOf(placeId) {
      const place = places.find((one) => one.id === placeId);
      const room = place !== undefined && isSurface(place.kind) ? place.facesPlaceId : null;
      return room !== null ? nameOf(room) : (firstRoom?.name ?? 'the room');
    },
  };
}
