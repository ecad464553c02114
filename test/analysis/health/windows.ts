import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';
import type { Arrivals, Readings, SensorWindow } from '../../../server/analysis/health/finding.ts';
import { healthSettings } from '../../../server/analysis/health/settings.ts';
import { buildHours, type PlacedColumns } from '../../../server/analysis/hours.ts';
import { placeHoursOf } from '../../../server/analysis/place-hours.ts';
import { HOUR_MS, isSurface, type PlaceKind } from '../../../server/analysis/vocabulary.ts';
import type { Quantity } from '../../../server/physics/quantities.ts';

/** A sensor that stands at one place over a span, with all its readings. */
export interface WatchedPlace {
  readonly name: string;
  readonly kind: PlaceKind;
  readonly intervalSeconds: number;
  readonly series: Partial<Record<Quantity, { readonly times: Float64Array; readonly values: Float64Array }>>;
  readonly conflicts?: number;
  readonly clockAhead?: number;
  readonly arrivals?: Arrivals;
}

/** The windows of all sensors of a home that end at a moment, hour means worked out as the program does. */
export function windowsAt(places: readonly WatchedPlace[], now: number): SensorWindow[] {
  const from = now - healthSettings.windowMs;
  const start = Math.ceil(from / HOUR_MS) * HOUR_MS;
  const hours = Math.floor((now - start) / HOUR_MS);
  const inWindow = places.map(({ series, intervalSeconds }) =>
    Object.fromEntries(
      Object.entries(series).map(([quantity, { times, values }]) => {
        const first = times.findIndex((time) => time >= from);
        const after = times.findIndex((time) => time >= now);
        const end = after < 0 ? times.length : after;
        const begin = first < 0 ? end : first;
        return [quantity, { times: times.subarray(begin, end), values: values.subarray(begin, end), intervalSeconds }];
      }),
    ),
  ) as Partial<Record<Quantity, Readings>>[];
  const columns: PlacedColumns[] = inWindow.flatMap((series, placeId) =>
    Object.entries(series).map(([quantity, readings]) => ({
      placeId,
      sensorId: placeId,
      quantity: quantity as Quantity,
      ...readings,
    })),
  );
  const records = buildHours({
    start,
    hours,
    places: places.map(({ kind }, id) => ({ id, kind, facesPlaceId: null })),
    columns,
  });
  const means = places.map(({ name, kind }, placeId) => {
    const { temperature, vapourPressure } = placeHoursOf(records, placeId, start, hours);
    return { placeId, name, kind, temperature, vapourPressure };
  });
  const room = places.findIndex(({ kind }) => kind === 'room-air');
  return places.map((place, placeId) => ({
    key: place.name,
    model: null,
    from,
    now,
    placedFrom: null,
    placeId,
    kind: place.kind,
    companions: 0,
    facesPlaceId: isSurface(place.kind) && room >= 0 ? room : null,
    series: inWindow[placeId]!,
    last:
      Object.values(place.series)
        .flatMap(({ times }) => times.findLast((time) => time < now) ?? [])
        .sort((a, b) => b - a)[0] ?? null,
    conflicts: place.conflicts ?? 0,
    clockAhead: place.clockAhead ?? 0,
    clockTooEarly: 0,
    arrivals: place.arrivals ?? null,
    start,
    places: means,
  }));
}

const openData = fileURLToPath(new URL('../../../../shared/open-data', import.meta.url));
export const openDataIsHere = existsSync(openData);
export const openDataMissing = 'LEFT OUT: the measured houses are not there (../shared/open-data beside the project)';

/**
 * Two measured houses, all points, hourly, times shifted from their fixed offset of two hours to UTC.
 * Source: TRH-database (A. Laukkarinen et al.) and Finnish Meteorological Institute, both CC BY 4.0. Roof points stand
 * for loft air; the one under the paper on the insulation for a place behind a lining.
 */
export const openHouses: Readonly<Record<string, Readonly<Record<string, PlaceKind>>>> = {
  'house-a': {
    indoor1: 'room-air',
    fmi: 'outdoor-air',
    roofmiddle_airmiddle: 'loft-air',
    roofmiddle_bottomofcardboard: 'behind-lining',
    roofmiddle_topofcardboard: 'loft-air',
    roofsouth_eavestop: 'loft-air',
    roofsouth_topofunderlay: 'loft-air',
  },
  'house-b': {
    indoor1: 'room-air',
    fmi: 'outdoor-air',
    outside: 'outdoor-air',
    roofmiddle_airmiddle: 'loft-air',
    roofmiddle_insulationtop: 'loft-air',
    roofnorthwest_eavestop: 'loft-air',
  },
};

export function openHouse(house: string): WatchedPlace[] {
  return Object.entries(openHouses[house]!).map(([name, kind]) => {
    const rows = parse(readFileSync(`${openData}/${house}/${name}.csv`), { columns: true }) as Record<string, string>[];
    const column = (...names: string[]) => {
      const present = rows.filter((row) => names.some((one) => (row[one] ?? '') !== ''));
      const valueIn = (row: Record<string, string>): number => Number(names.map((one) => row[one]).find(Boolean));
      return {
        times: Float64Array.from(present, (row) => Date.parse(`${row['t_UTC+2']!.replace(' ', 'T')}+02:00`)),
        values: Float64Array.from(present, valueIn),
      };
    };
    return {
      name: `${house} ${name}`,
      kind,
      intervalSeconds: 3600,
      series: { temperature: column('T', 'Te'), humidity: column('RH', 'RHe') },
    };
  });
}
