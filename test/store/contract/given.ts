import type { HourRecord } from '../../../server/analysis/hour-record.ts';
import type { PlaceKind } from '../../../server/analysis/vocabulary.ts';
import type { Quantity } from '../../../server/physics/quantities.ts';
import type {
  AppendOutcome,
  Dwelling,
  IncomingReading,
  New,
  Place,
  QuarantinedMessage,
  Sensor,
  Store,
} from '../../../server/store/port.ts';

export const NEW_YEAR = Date.UTC(2026, 0, 1);
export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;

export const section = {
  pitchDeg: 40,
  slopeLengthMm: 1800,
  roomHeightMm: 2300,
  liningThicknessMm: 60,
  loftInsulationMm: 200,
  eavesGapMm: 50,
};

export const dwellingCalled = (slug: string): New<Dwelling> => ({ slug, name: slug, zone: 'Europe/London', section });

export const givenDwelling = (store: Store, slug = 'mill-cottage'): Promise<Dwelling> =>
  store.addDwelling(dwellingCalled(slug));

export const givenPlace = (store: Store, { id }: Dwelling, kind: PlaceKind = 'room-air'): Promise<Place> =>
  store.addPlace({ dwellingId: id, name: `the ${kind}`, kind, facesPlaceId: null });

/** A place with a sensor that has stood there since 1970. */
export async function givenWatchedPlace(
  store: Store,
  dwelling: Dwelling,
  kind: PlaceKind,
  key: string,
): Promise<{ place: Place; sensor: Sensor }> {
  const place = await givenPlace(store, dwelling, kind);
  const sensor = await store.ensureSensor(dwelling.id, key);
  await store.placeSensor(dwelling.id, sensor.id, place.id, 0);
  return { place, sensor };
}

export const readingOf = (
  { id }: { readonly id: number },
  sensorKey: string,
  quantity: Quantity,
  time: number,
  value: number,
): IncomingReading => ({ dwellingId: id, sensorKey, quantity, time, value });

export const appendReadings = (
  store: Store,
  readings: readonly IncomingReading[],
  receivedAt = NEW_YEAR,
): Promise<AppendOutcome> => store.append({ receivedAt, readings, quarantined: [] });

export const message = (change: Partial<QuarantinedMessage> = {}): QuarantinedMessage => ({
  receivedAt: NEW_YEAR,
  source: 'mqtt',
  topic: 'garden/shed',
  payload: new TextEncoder().encode('{"t": "warm"}'),
  code: 'not-a-number',
  message: '"t" is not a number',
  ...change,
});

export async function staleHoursOf(store: Store, { id }: { readonly id: number }): Promise<number[]> {
  return (await store.staleHours(id, 0, 100_000)).map(({ hour }) => hour);
}

/** Takes all marks of stale hours away without writing records. */
export async function forgetStaleHours(store: Store, { id }: { readonly id: number }): Promise<void> {
  await store.replaceHours(id, await store.staleHours(id, 0, 100_000), []);
}

/** An hour record in which every field has a value of its own. */
export const fullRecord = (placeId: number, hour: number): HourRecord => ({
  placeId,
  hour,
  temperatureMean: 14.123456789,
  temperatureMin: -3.25,
  temperatureMax: 17.5,
  temperatureCount: 6,
  temperatureCoverage: 1,
  humidityMean: 61.1,
  humidityMin: 58,
  humidityMax: 100,
  humidityCount: 5,
  humidityCoverage: 5 / 6,
  humidityClamped: 1,
  vapourPressure: 1234.5678901234,
  dewPoint: 9.87,
  marginMean: 4.26,
  marginMin: 3.99,
  surfaceHumidityMean: 80.01,
  surfaceHumidityMax: 84.2,
  factorOutdoor: 0.7134,
  factorLoft: 0.6521,
  riskHour: true,
  condensationHour: false,
  timberMoisture: 17.2,
  co2: 812,
  battery: 2.97,
});

/** An hour record of a place of which nothing is known but that a reading came. */
export const bareRecord = (placeId: number, hour: number): HourRecord => ({
  placeId,
  hour,
  temperatureMean: null,
  temperatureMin: null,
  temperatureMax: null,
  temperatureCount: 0,
  temperatureCoverage: 0,
  humidityMean: null,
  humidityMin: null,
  humidityMax: null,
  humidityCount: 0,
  humidityCoverage: 0,
  humidityClamped: 0,
  vapourPressure: null,
  dewPoint: null,
  marginMean: null,
  marginMin: null,
  surfaceHumidityMean: null,
  surfaceHumidityMax: null,
  factorOutdoor: null,
  factorLoft: null,
  riskHour: null,
  condensationHour: null,
  timberMoisture: null,
  co2: null,
  battery: null,
});
