import type { Place } from '../../../server/api/contract/dwelling.ts';
import type { TrackFigureName } from '../../../server/api/contract/track.ts';
import { inReaderUnit, readerUnit } from '../words/format.ts';
import { words } from '../words/words.ts';
import type { PlotLimit } from './plot-parts.ts';

/** One quantity over time, as a chart shows it. */
export interface Track {
  readonly title: string;
  readonly short: string;
  readonly explain: string;
  readonly figure: TrackFigureName;
  readonly unit: string;
  readonly digits: number;
  readonly limits: readonly PlotLimit[];
  readonly least?: number;
  readonly greatest?: number;
}

const t = words.place.tracks;

const temperature: Track = { ...t.temperature, figure: 'temperature', unit: '°C', digits: 1, limits: [] };
const humidity: Track = {
  ...t.humidity,
  figure: 'humidity',
  unit: '%',
  digits: 0,
  limits: [],
  least: 30,
  greatest: 100,
};
const margin: Track = {
  ...t.margin,
  figure: 'margin',
  unit: 'K',
  digits: 1,
  limits: [{ at: 0, label: t.margin.limit }],
  least: 0,
  greatest: 4,
};
const surfaceHumidity: Track = {
  ...t.surfaceHumidity,
  figure: 'surfaceHumidity',
  unit: '%',
  digits: 0,
  limits: [{ at: 80, label: t.surfaceHumidity.limit }],
  least: 40,
  greatest: 100,
};
const timberMoisture: Track = {
  ...t.timberMoisture,
  figure: 'timberMoisture',
  unit: '%',
  digits: 1,
  limits: [{ at: 20, label: t.timberMoisture.limit }],
  least: 10,
  greatest: 22,
};

const vapourExcess: Track = {
  ...t.vapourExcess,
  figure: 'vapourExcess',
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
    limits: track.limits.map((limit) => ({ ...limit, at: shown(limit.at) })),
    ...(track.least === undefined ? {} : { least: shown(track.least) }),
    ...(track.greatest === undefined ? {} : { greatest: shown(track.greatest) }),
  };
};

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
