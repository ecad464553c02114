import type { Place } from '../../../server/api/contract/dwelling.ts';
import type { HourColumnName, HourColumns } from '../../../server/api/contract/figures.ts';
import { inReaderUnit, readerUnit } from '../words/format.ts';
import { words } from '../words/words.ts';
import type { PlotLimit } from './plot.tsx';

/** One quantity over time, as a chart shows it. */
export interface Track {
  readonly title: string;
  readonly short: string;
  readonly explain: string;
  readonly column: HourColumnName;
  /** less the outdoors at the same hour */
  readonly over?: 'outdoors';
  readonly unit: string;
  /** unit of the API's values where it is not that of the chart */
  readonly from?: string;
  readonly digits: number;
  readonly limits: readonly PlotLimit[];
  readonly least?: number;
  readonly greatest?: number;
}

const t = words.place.tracks;

const temperature: Track = { ...t.temperature, column: 'temperature', unit: '°C', digits: 1, limits: [] };
const humidity: Track = {
  ...t.humidity,
  column: 'humidity',
  unit: '%',
  digits: 0,
  limits: [],
  least: 30,
  greatest: 100,
};
const margin: Track = {
  ...t.margin,
  column: 'margin',
  unit: 'K',
  digits: 1,
  limits: [{ at: 0, label: t.margin.limit }],
  least: 0,
  greatest: 4,
};
const surfaceHumidity: Track = {
  ...t.surfaceHumidity,
  column: 'surfaceHumidity',
  unit: '%',
  digits: 0,
  limits: [{ at: 80, label: t.surfaceHumidity.limit }],
  least: 40,
  greatest: 100,
};
const timberMoisture: Track = {
  ...t.timberMoisture,
  column: 'timberMoisture',
  unit: '%',
  digits: 1,
  limits: [{ at: 20, label: t.timberMoisture.limit }],
  least: 10,
  greatest: 22,
};

const vapourExcess: Track = {
  ...t.vapourExcess,
  column: 'vapourPressure',
  over: 'outdoors',
  unit: 'Pa',
  digits: 0,
  limits: [{ at: 0, label: t.vapourExcess.limit }],
  least: -50,
  greatest: 100,
};

/** Loft air beside outdoors; the excess only where there are outdoors to take it over. */
export const loftAirTracks: readonly Track[] = [vapourExcess, temperature, humidity];
export const loftTimberTracks: readonly Track[] = [timberMoisture];

/** The track in the reader's units. */
export const readerTrack = (track: Track): Track => {
  const shown = (value: number): number => inReaderUnit(value, track.unit);
  return {
    ...track,
    unit: readerUnit(track.unit),
    from: track.unit,
    limits: track.limits.map((limit) => ({ ...limit, at: shown(limit.at) })),
    ...(track.least === undefined ? {} : { least: shown(track.least) }),
    ...(track.greatest === undefined ? {} : { greatest: shown(track.greatest) }),
  };
};

/** Hourly values of a track, in its unit; null where nothing is known, or where an excess would be over itself. */
export function valuesOf(
  track: Track,
  record: HourColumns,
  outdoors: HourColumns | null,
): readonly (number | null)[] | null {
  const known = record.columns[track.column];
  if (known === undefined || known.every((value) => value === null)) return null;
  const { from } = track;
  const values = from === undefined ? known : known.map((value) => (value === null ? null : inReaderUnit(value, from)));
  if (track.over === undefined) return values;
  const below = outdoors?.columns[track.column];
  if (outdoors === null || below === undefined || outdoors.placeId === record.placeId) return null;
  const shift = (Date.parse(record.start) - Date.parse(outdoors.start)) / 3_600_000;
  return values.map((value, i) => {
    const outside = below[i + shift] ?? null;
    return value === null || outside === null ? null : value - outside;
  });
}

/** What is worth seeing of a place of this kind, most telling first. */
export function tracksOf(kind: Place['kind']): readonly Track[] {
  switch (kind) {
    case 'ceiling-surface':
    case 'control-surface':
      return [margin, surfaceHumidity, temperature];
    case 'behind-lining':
      return [margin, humidity, temperature];
    case 'loft-timber':
      return [timberMoisture, temperature, humidity];
    default:
      return [temperature, humidity];
  }
}
