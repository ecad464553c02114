import { phaseKinds, placeKinds } from '../analysis/vocabulary.ts';
import { quantities, quantityNames } from '../physics/quantities.ts';
import { filled, finite, oneOf, wholeTime } from './arguments.ts';
import type {
  DiaryEntry,
  Dwelling,
  KnownDwelling,
  New,
  Phase,
  Place,
  Placement,
  SectionDimensions,
  Sensor,
  Series,
} from './port.ts';
import type { Columns } from './row-columns.ts';

const sectionColumns: Columns<SectionDimensions> = {
  pitchDeg: 'pitch_deg',
  slopeLengthMm: 'slope_length_mm',
  roomHeightMm: 'room_height_mm',
  liningThicknessMm: 'lining_thickness_mm',
  loftInsulationMm: 'loft_insulation_mm',
  eavesGapMm: 'eaves_gap_mm',
};
export type DwellingRow = Omit<Dwelling, 'section'> & SectionDimensions;
export const dwellingColumns: Columns<DwellingRow> = {
  id: 'id',
  slug: 'slug',
  name: 'name',
  zone: 'zone',
  ...sectionColumns,
};
export type KnownRow = DwellingRow & { readonly kind: 'home' | 'example'; readonly confirmed: 0 | 1 };
export const knownColumns: Columns<KnownRow> = { ...dwellingColumns, kind: 'kind', confirmed: 'section_confirmed' };
const keys = { id: 'id', dwellingId: 'dwelling_id' } as const;
export type PlaceRow = Omit<Place, 'position'> & {
  readonly sectionAlong: number | null;
  readonly sectionUp: number | null;
};
export const placeColumns: Columns<PlaceRow> = {
  ...keys,
  name: 'name',
  kind: 'kind',
  facesPlaceId: 'faces_place_id',
  sectionAlong: 'section_along',
  sectionUp: 'section_up',
};
export const sensorColumns: Columns<Sensor> = { ...keys, key: 'key', name: 'name', model: 'model' };
export const placementColumns: Columns<Placement> = {
  ...keys,
  sensorId: 'sensor_id',
  placeId: 'place_id',
  from: 'from_time',
  to: 'to_time',
};
export const seriesColumns: Columns<Series> = {
  ...keys,
  sensorId: 'sensor_id',
  quantity: `CASE quantity ${quantityNames.map((name) => `WHEN '${quantities[name].wire}' THEN '${name}'`).join(' ')} END`,
  intervalSeconds: 'interval_seconds',
};
export const phaseColumns: Columns<Phase> = { ...keys, kind: 'kind', name: 'name', from: 'from_time', to: 'to_time' };
export const diaryColumns: Columns<DiaryEntry> = { ...keys, time: 'time', kind: 'kind', text: 'text' };

export function toKnown({ id, slug, name, zone, kind, confirmed, ...section }: KnownRow): KnownDwelling {
  return { id, slug, name, zone, section, isExample: kind === 'example', sectionConfirmed: confirmed === 1 };
}

export function toPlace({ sectionAlong, sectionUp, ...rest }: PlaceRow): Place {
  return {
    ...rest,
    position: sectionAlong === null || sectionUp === null ? null : { along: sectionAlong, up: sectionUp },
  };
}

export function toPlaceRow({ position, ...rest }: New<Place>): New<PlaceRow> {
  return { ...rest, sectionAlong: position?.along ?? null, sectionUp: position?.up ?? null };
}

export function toDwellingRow(dwelling: Dwelling): DwellingRow {
  const { section, ...rest } = dwelling;
  return { ...rest, ...section };
}

export function checkDwelling({ slug, name, zone, section }: New<Dwelling>): void {
  if (!/^[a-z0-9]+(-[a-z0-9]+)*$/.test(slug)) {
    throw new RangeError(`slug is '${slug}'; it must be lower-case letters and digits, with single hyphens between`);
  }
  filled('name', name);
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
  } catch (cause) {
    throw new RangeError(`zone is '${zone}'; it must be the name of an IANA time zone`, { cause });
  }
  for (const field of Object.keys(sectionColumns) as (keyof SectionDimensions)[]) {
    finite(`section.${field}`, section[field]);
  }
}

export function checkPlace({ name, kind, position }: New<Place>): void {
  filled('name', name);
  oneOf('kind', kind, placeKinds);
  for (const [field, share] of Object.entries(position ?? {})) {
    if (!(share >= 0 && share <= 1)) throw new RangeError(`position.${field} is ${share}; it must be 0 to 1`);
  }
}

export function checkPhase({ kind, name, from, to }: New<Phase>): void {
  oneOf('kind', kind, phaseKinds);
  filled('name', name);
  wholeTime('from', from);
  if (to !== null && !(wholeTime('to', to) > from)) {
    throw new RangeError(`to is ${to} ms; it must lie after from, ${from} ms`);
  }
}

export function checkDiaryEntry({ time, kind, text }: New<DiaryEntry>): void {
  wholeTime('time', time);
  filled('kind', kind);
  filled('text', text);
}
