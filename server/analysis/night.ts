import { DateTime } from 'luxon';
import { type ErrorPart, measured } from '../physics/uncertainty.ts';
import { nightOn } from './forecast/night.ts';
import { type DwellingNow, dwellingNow, type HourFigures, type Latest } from './now.ts';
import { HOUR_MS, type PlaceKind } from './vocabulary.ts';

/** A night from noon to noon, so that one sees what came before it; UTC milliseconds, whole hours, ends excluded. */
export interface NightSpan {
  /** local date on which it begins, 2026-01-14 */
  readonly night: string;
  readonly from: number;
  readonly to: number;
  /** nightfall and morning, as nights are counted everywhere */
  readonly nightFrom: number;
  readonly nightTo: number;
}

/**
 * The night that begins on a local date. Where the clock changes it is 23 or 25 hours from noon to noon.
 *
 * @param night local date, 2026-01-14
 * @param zone IANA time zone
 * @throws RangeError for a date or a zone that does not exist
 */
export function nightSpan(night: string, zone: string): NightSpan {
  const day = DateTime.fromISO(night, { zone });
  if (!day.isValid) throw new RangeError(`night is ${night} in ${zone}; it must be a date in an IANA time zone`);
  const at = (hour: number, daysOn: number): number =>
    Math.floor(day.plus({ days: daysOn }).set({ hour }).toMillis() / HOUR_MS) * HOUR_MS;
  const { from, to } = nightOn(night, zone);
  return { night: day.toISODate()!, from: at(12, 0), to: at(12, 1), nightFrom: from, nightTo: to };
}

/** The local date on which the night from noon to noon that holds an instant began. */
export function nightFromNoonOf(time: number, zone: string): string {
  const local = DateTime.fromMillis(time, { zone });
  return (local.hour >= 12 ? local : local.minus({ days: 1 })).toISODate()!;
}

/** The columns of hour records that a night is played from. */
export const playedColumns = [
  'temperature',
  'humidity',
  'vapourPressure',
  'dewPoint',
  'margin',
  'surfaceHumidity',
  'timberMoisture',
] as const;

export type PlayedColumns = Readonly<Record<(typeof playedColumns)[number], Float64Array>>;

export interface PlayedPlace {
  readonly placeId: number;
  readonly name: string;
  readonly kind: PlaceKind;
  readonly facesPlaceId: number | null;
  /** an entry per hour, NaN for missing */
  readonly columns: PlayedColumns;
  /** what the sensors that stood there may have been wrong by */
  readonly errors: Readonly<Record<'temperature' | 'humidity' | 'timberMoisture', readonly ErrorPart[]>>;
}

/**
 * How every place was doing in each hour of a span, from the hour records and by the same rules as now.
 *
 * @param start UTC milliseconds of the first hour
 */
export function playHours(places: readonly PlayedPlace[], start: number, hours: number): DwellingNow[] {
  const outdoors = places.find(({ kind }) => kind === 'outdoor-air');
  return Array.from({ length: hours }, (_, i) => {
    const time = start + i * HOUR_MS;
    const value = (place: PlayedPlace, name: keyof PlayedColumns): number | null => {
      const found = place.columns[name][i]!;
      return Number.isFinite(found) ? found : null;
    };
    const latest = (place: PlayedPlace, name: keyof PlayedPlace['errors']): Latest | null => {
      const mean = value(place, name);
      return mean === null ? null : { time, measured: measured(mean, ...place.errors[name]), intervalSeconds: null };
    };
    const ofHour = (place: PlayedPlace): HourFigures => {
      const own = value(place, 'vapourPressure');
      const outdoor = outdoors === undefined ? null : value(outdoors, 'vapourPressure');
      return {
        temperature: value(place, 'temperature'),
        humidity: value(place, 'humidity'),
        vapourPressure: own,
        dewPoint: value(place, 'dewPoint'),
        margin: value(place, 'margin'),
        surfaceHumidity: value(place, 'surfaceHumidity'),
        vapourExcess: own === null || outdoor === null ? null : own - outdoor,
        timberMoisture: value(place, 'timberMoisture'),
      };
    };
    return dwellingNow(
      places.map((place) => ({
        placeId: place.placeId,
        name: place.name,
        kind: place.kind,
        facesPlaceId: place.facesPlaceId,
        temperature: latest(place, 'temperature'),
        humidity: latest(place, 'humidity'),
        timberMoisture: latest(place, 'timberMoisture'),
        hour: ofHour(place),
      })),
      time,
    );
  });
}
