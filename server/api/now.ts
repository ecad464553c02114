import { type DwellingNow, dwellingNow, type Latest } from '../analysis/now.ts';
import type { Quantity } from '../physics/quantities.ts';
import type { Dwelling, Place, Store } from '../store/port.ts';
import { latestByPlace } from './latest.ts';
import { type DwellingHealth, errorsFound } from './sensor-health.ts';

export type HealthReader = (dwelling: Dwelling) => Promise<DwellingHealth>;

/** How every place of a dwelling is doing at a moment: for the page, and for programs that listen on a broker. */
export async function readNow(
  store: Store,
  readHealth: HealthReader,
  dwelling: Dwelling,
  time: number,
): Promise<DwellingNow> {
  const { ofSensor } = await readHealth(dwelling);
  return readLatest(store, dwelling, time, errorsFound(ofSensor));
}

/** The same, with the errors of calibration and data sheet alone unless others are given: quick enough for every look. */
export async function readLatest(
  store: Store,
  dwelling: Dwelling,
  time: number,
  errors: ReturnType<typeof errorsFound> = () => [],
): Promise<DwellingNow> {
  const [places, latest] = await Promise.all([store.places(dwelling.id), latestByPlace(store, dwelling.id, errors)]);
  const at = (place: Place, quantity: Quantity): Latest | null => latest.get(place.id)?.[quantity] ?? null;
  return dwellingNow(
    places.map((place) => ({
      placeId: place.id,
      name: place.name,
      kind: place.kind,
      facesPlaceId: place.facesPlaceId,
      temperature: at(place, 'temperature'),
      humidity: at(place, 'humidity'),
      timberMoisture: at(place, 'timberMoisture'),
    })),
    time,
  );
}
