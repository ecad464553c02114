import { type DoubtfulHours, doubtfulHours, doubtReachHours } from '../../analysis/health/doubtful-hours.ts';
import type { HourColumnName } from '../../analysis/place-hours.ts';
import { isSurface, type PlaceKind } from '../../analysis/vocabulary.ts';
import type { Place } from '../port.ts';
import type { Connection } from './database.ts';

/** Whose readings may make an hour doubtful: the place's own, those of the air it is judged by, of outdoors, of the loft. */
type Doubt = 'own temperature' | 'own humidity' | 'air' | 'room' | 'outdoors' | 'loft';

const wetness: readonly Doubt[] = ['own temperature', 'air'];
/** What each column rests on. */
const doubtsOf: Record<HourColumnName, readonly Doubt[]> = {
  temperature: ['own temperature'],
  temperatureMin: ['own temperature'],
  temperatureMax: ['own temperature'],
  humidity: ['own humidity'],
  humidityMin: ['own humidity'],
  humidityMax: ['own humidity'],
  vapourPressure: ['air'],
  dewPoint: ['air'],
  margin: wetness,
  marginMin: wetness,
  surfaceHumidity: wetness,
  surfaceHumidityMax: wetness,
  factorOutdoor: ['own temperature', 'room', 'outdoors'],
  factorLoft: ['own temperature', 'room', 'loft'],
  riskHour: wetness,
  condensationHour: wetness,
  timberMoisture: ['own temperature'],
  co2: [],
  battery: [],
  coverage: ['own temperature'],
};

/**
 * Takes out of columns what rests on a sensor that repeated one value or stood at 100 % for too long: such hours are not
 * known, and their coverage is 0. The records keep what was measured.
 *
 * @param bounds first hour and the one after the last, counted from 1970
 */
export function leaveOutDoubtful(
  db: Connection,
  dwellingId: number,
  placeId: number,
  bounds: readonly [number, number],
  names: readonly HourColumnName[],
  columns: readonly Float64Array[],
): void {
  const doubted = doubtsAt(db, dwellingId, placeId, bounds);
  for (const [k, name] of names.entries()) {
    const column = columns[k]!;
    const nothing = name === 'coverage' ? 0 : Number.NaN;
    for (const marks of doubtsOf[name].map(doubted)) {
      for (let i = 0; i < column.length; i++) if (marks?.[i] === 1 && !Number.isNaN(column[i]!)) column[i] = nothing;
    }
  }
}

type DoubtedPlace = Pick<Place, 'id' | 'kind' | 'facesPlaceId'>;

/** Finds the hours of a span that count nowhere, each kind of doubt when it is first asked for. */
function doubtsAt(
  db: Connection,
  dwellingId: number,
  placeId: number,
  bounds: readonly [number, number],
): (doubt: Doubt) => Uint8Array | null {
  const places = db
    .prepare<[number], DoubtedPlace>(
      'SELECT id, kind, faces_place_id AS "facesPlaceId" FROM place WHERE dwelling_id = ? ORDER BY id',
    )
    .all(dwellingId);
  const own = places.find(({ id }) => id === placeId);
  const first = (kind: PlaceKind): DoubtedPlace | undefined => places.find((place) => place.kind === kind);
  const room = places.find(({ id }) => id === own?.facesPlaceId) ?? first('room-air');
  const known = new Map<number, DoubtfulHours>();
  const of = (place: DoubtedPlace | undefined): DoubtfulHours | null => {
    if (place === undefined) return null;
    const doubts = known.get(place.id) ?? readDoubts(db, dwellingId, place, bounds);
    known.set(place.id, doubts);
    return doubts;
  };
  return (doubt) => {
    if (doubt === 'own temperature') return of(own)?.temperature ?? null;
    if (doubt === 'own humidity') return of(own)?.humidity ?? null;
    // humidity is doubted wherever temperature is
    if (doubt === 'air') return of(own !== undefined && isSurface(own.kind) ? room : own)?.humidity ?? null;
    const other = doubt === 'room' ? room : first(doubt === 'loft' ? 'loft-air' : 'outdoor-air');
    return of(other)?.temperature ?? null;
  };
}

function readDoubts(
  db: Connection,
  dwellingId: number,
  place: DoubtedPlace,
  [first, end]: readonly [number, number],
): DoubtfulHours {
  const length = Math.max(0, end - first);
  const column = () => new Float64Array(length + 2 * doubtReachHours).fill(Number.NaN);
  const temperatureMin = column();
  const temperatureMax = column();
  const humidityMin = column();
  const humidityMax = column();
  const rows = db
    .prepare<[number, number, number, number], [number, ...(number | null)[]]>(
      `SELECT hour, temperature_min_c, temperature_max_c, humidity_min_pct, humidity_max_pct
       FROM hour_record WHERE dwelling_id = ? AND place_id = ? AND hour >= ? AND hour < ?`,
    )
    .raw()
    .iterate(dwellingId, place.id, first - doubtReachHours, end + doubtReachHours);
  for (const row of rows) {
    const i = row[0] - first + doubtReachHours;
    temperatureMin[i] = row[1] ?? Number.NaN;
    temperatureMax[i] = row[2] ?? Number.NaN;
    humidityMin[i] = row[3] ?? Number.NaN;
    humidityMax[i] = row[4] ?? Number.NaN;
  }
  const { temperature, humidity } = doubtfulHours(place.kind, {
    temperatureMin,
    temperatureMax,
    humidityMin,
    humidityMax,
  });
  const inside = (marks: Uint8Array): Uint8Array => marks.subarray(doubtReachHours, doubtReachHours + length);
  return { temperature: inside(temperature), humidity: inside(humidity) };
}
