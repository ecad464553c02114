import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { PlaceKind } from '../../server/analysis/vocabulary.ts';
import { HOUR_MS } from '../../server/analysis/vocabulary.ts';
import { findEvents } from '../../server/analysis/watch/find-events.ts';
import type { WatchedPlace } from '../../server/analysis/watch/history.ts';
import { watchSettings } from '../../server/analysis/watch/settings.ts';
import { readLoggerCsv } from '../../server/commands/logger-csv.ts';
import { hoursOfFiles } from '../../server/commands/logger-hours.ts';
import { mouldIndex } from '../../server/physics/mould-index.ts';
import { dewPoint } from '../../server/physics/saturation.ts';
import { surfaceHumidity } from '../../server/physics/surface.ts';

const openData = join(fileURLToPath(new URL('../../', import.meta.url)), '..', 'shared', 'open-data');
const here = existsSync(openData);
if (!here) console.warn('LEFT OUT: notices of real houses, for there is no ../shared/open-data beside the project');

// TRH-database (A. Laukkarinen et al.) and Finnish Meteorological Institute open data, CC BY 4.0: hourly, UTC+2 all year.
const houses: Record<string, Partial<Record<PlaceKind, string>>> = {
  'house-a': { 'room-air': 'indoor1', 'outdoor-air': 'fmi', 'loft-air': 'roofmiddle_airmiddle' },
  'house-b': { 'room-air': 'indoor1', 'outdoor-air': 'fmi', 'loft-air': 'roofmiddle_airmiddle' },
};

/** The file with the names of columns that we know. */
const textOf = (house: string, name: string): string =>
  readFileSync(join(openData, house, `${name}.csv`), 'utf8').replace(/^[^\n]*/, 'time,temperature_c,humidity_pct');

/** Temperature factor of a good ceiling: well over the 0.75 that guidance asks for. @source BRE IP 1/06 */
const GOOD = 0.9;

/** Events of years in a measured house; its air is measured, its ceiling surface modelled at once at f = 0.9. */
function eventsOf(house: string): { said: string[]; years: number } {
  const files = Object.entries(houses[house]!).map(([kind, name]) => ({
    kind: kind as PlaceKind,
    log: readLoggerCsv(textOf(house, name!), `${name}.csv`, 'Etc/GMT-2'),
  }));
  const columns = hoursOfFiles(files);
  const start = columns[0]!.start;
  const length = columns[0]!.temperature.length;
  const places = files.map(({ kind }, k): WatchedPlace => {
    const { start: _, ...hours } = columns[k]!;
    const doubt = { temperature: [], humidity: [] };
    return { id: k + 1, name: kind, kind, airPlaceId: k + 1, hours, mouldIndex: null, doubt, before: null };
  });
  const loft = places.find(({ kind }) => kind === 'loft-air')!;
  const timber: WatchedPlace = {
    ...loft,
    id: 9,
    kind: 'loft-timber',
    mouldIndex: mouldIndex(loft.hours.temperature, loft.hours.humidity).index,
  };
  const room = places.find(({ kind }) => kind === 'room-air')!;
  const outside = places.find(({ kind }) => kind === 'outdoor-air')!.hours.temperature;
  const surface = room.hours.temperature.map((inside, k) => outside[k]! + GOOD * (inside - outside[k]!));
  const known = (k: number): boolean => !Number.isNaN(surface[k]! + room.hours.vapourPressure[k]!);
  const wet = surface.map((value, k) =>
    known(k) ? surfaceHumidity(room.hours.vapourPressure[k]!, value) : Number.NaN,
  );
  const ceiling: WatchedPlace = {
    ...room,
    id: 8,
    name: 'ceiling',
    kind: 'ceiling-surface',
    airPlaceId: room.id,
    mouldIndex: mouldIndex(surface, wet).index,
    hours: {
      ...room.hours,
      temperature: surface,
      surfaceHumidity: wet,
      margin: surface.map((value, k) => (known(k) ? value - dewPoint(room.hours.vapourPressure[k]!) : Number.NaN)),
    },
  };
  const history = {
    start,
    hours: length,
    zone: 'Europe/Helsinki',
    places: [...places, timber, ceiling],
    phases: [],
    heard: Uint8Array.from({ length }, (_, k) =>
      places.some(({ hours }) => !Number.isNaN(hours.temperature[k]!)) ? 1 : 0,
    ),
    heardBefore: false,
    findings: new Map(),
    nights: new Map(),
  };
  const events = findEvents(history, watchSettings, [], { from: start, onceFrom: start });
  return {
    said: events.map(({ rule, detail, placeId, begunAt, endedAt }) =>
      `${rule} ${placeId} ${detail} ${new Date(begunAt).toISOString().slice(0, 10)} ${endedAt === null ? '' : new Date(endedAt).toISOString().slice(0, 10)}`.trim(),
    ),
    years: (length * HOUR_MS) / (365.25 * 24 * HOUR_MS),
  };
}

describe.skipIf(!here)('measured houses under a good ceiling', () => {
  it.each(Object.keys(houses))('%s gives not one notice in a year and a half', (house) => {
    const { said, years } = eventsOf(house);
    expect(years).toBeGreaterThan(1.4);
    expect(said).toEqual([]);
  });
});
