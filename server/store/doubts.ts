import { doubtfulHours, doubtReachHours, type HourExtremes } from '../analysis/health/doubtful-hours.ts';
import type { HourColumnName } from '../analysis/place-hours.ts';
import { isSurface, type PlaceKind } from '../analysis/vocabulary.ts';
import type { Place } from './port.ts';

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

export type DoubtedPlace = Pick<Place, 'id' | 'kind' | 'facesPlaceId'>;

/** Columns of the table of hour records that {@link HourExtremes} are made of, in its order. */
export const extremeColumns = [
  'temperature_min_c',
  'temperature_max_c',
  'humidity_min_pct',
  'humidity_max_pct',
] as const;

/** Extremes of which nothing is known, for a span of hours counted from 1970, and the hour their first entry is of. */
export function noExtremes(first: number, end: number): { start: number; columns: Float64Array[] } {
  const length = Math.max(0, end - first) + 2 * doubtReachHours;
  return {
    start: first - doubtReachHours,
    columns: extremeColumns.map(() => new Float64Array(length).fill(Number.NaN)),
  };
}

/** Whose doubts tell on which columns of a place. */
export interface Doubts {
  /** places whose extremes are needed */
  readonly places: readonly DoubtedPlace[];
  /**
   * Takes out of columns what rests on a sensor that repeated one value or stood at 100 % for too long: such hours are not
   * known, and their coverage is 0. The records keep what was measured.
   *
   * @param extremesOf of each of `places`, as {@link noExtremes} lays them out
   */
  leaveOut(columns: readonly Float64Array[], extremesOf: (placeId: number) => readonly Float64Array[]): void;
}

/** @param names of the columns, in their order */
export function doubtsOn(all: readonly DoubtedPlace[], placeId: number, names: readonly HourColumnName[]): Doubts {
  const own = all.find(({ id }) => id === placeId);
  const first = (kind: PlaceKind): DoubtedPlace | undefined => all.find((place) => place.kind === kind);
  const room = all.find(({ id }) => id === own?.facesPlaceId) ?? first('room-air');
  const sourceOf: Record<Doubt, DoubtedPlace | undefined> = {
    'own temperature': own,
    'own humidity': own,
    air: own !== undefined && isSurface(own.kind) ? room : own,
    room,
    outdoors: first('outdoor-air'),
    loft: first('loft-air'),
  };
  const places = new Set<DoubtedPlace>();
  for (const doubt of names.flatMap((name) => doubtsOf[name])) {
    const source = sourceOf[doubt];
    if (source !== undefined) places.add(source);
  }
  return {
    places: [...places],
    leaveOut(columns, extremesOf) {
      const known = new Map(
        [...places].map((place) => {
          const [temperatureMin, temperatureMax, humidityMin, humidityMax] = extremesOf(place.id);
          const extremes = { temperatureMin, temperatureMax, humidityMin, humidityMax } as HourExtremes;
          return [place.id, doubtfulHours(place.kind, extremes)];
        }),
      );
      for (const [k, name] of names.entries()) {
        const column = columns[k]!;
        const nothing = name === 'coverage' ? 0 : Number.NaN;
        for (const doubt of doubtsOf[name]) {
          const doubts = known.get(sourceOf[doubt]?.id ?? 0);
          if (doubts === undefined) continue;
          // humidity is doubted wherever temperature is
          const marks = doubt === 'own humidity' || doubt === 'air' ? doubts.humidity : doubts.temperature;
          for (let i = 0; i < column.length; i++) {
            if (marks[i + doubtReachHours] === 1 && !Number.isNaN(column[i]!)) column[i] = nothing;
          }
        }
      }
    },
  };
}
