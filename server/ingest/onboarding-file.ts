import { parse } from 'csv-parse/sync';
import { IANAZone } from 'luxon';
import {
  type OnboardingFaultSaid,
  type OnboardingFaultWhat,
  sayOnboardingFault,
} from '../analysis/onboarding-faults.ts';
import { isSurface, type PlaceKind, placeKinds } from '../analysis/vocabulary.ts';
import { quantities, quantityNames } from '../physics/quantities.ts';
import { unitsOf } from '../physics/units.ts';
import type { HomeWanted, MappedValue, PlaceWanted, SectionDimensions, SensorWanted } from '../store/port.ts';
import { prepareMapping } from './mapping.ts';
import { isSensorKey } from './topic.ts';

/** Columns of a file of homes, a row a sensor, in the order in which they are explained. */
export const onboardingColumns = Object.freeze({
  dwelling:
    'short name of the home in topics and addresses: lower-case letters, digits, single hyphens; needed in every row',
  name: 'what people call the home; needed in its first row',
  zone: 'IANA time zone, such as Europe/London; needed in its first row',
  area: 'where it is, in your words; may be empty',
  build_type: 'how it is built, in your words; may be empty',
  group: 'a group it is put into; made where there is none; may be empty',
  place: 'name of the place where the sensor stands; empty: it is placed later, by its label',
  place_kind: `what the place is: ${placeKinds.join(', ')}; needed where the place is named first`,
  faces: 'name of the room air that a surface faces; empty: the first of the home',
  sensor: 'key of the sensor: the last part of its topic; empty: the row is of a place alone',
  sensor_name: 'what people call the sensor; empty: its key',
  model: 'chip or device type, for the accuracy of its data sheet; may be empty',
  topic: 'MQTT topic it sends on, where that is not coomb/<dwelling>/<sensor>; may be empty',
  reads: `where its values are in a message of that topic: JSON Pointer = quantity, parted by semicolons, such as /t=temperature_c; /h=humidity_pct; quantities: ${quantityNames.map((one) => quantities[one].wire).join(', ')}; empty: the message names them itself`,
  account: 'yes: it gets a user name and password of its own; no or empty: it does not',
});

export type OnboardingColumn = keyof typeof onboardingColumns;
const columnNames = Object.keys(onboardingColumns) as OnboardingColumn[];

/** What is wrong with the file, where, and what to do about it. */
export type OnboardingFault = FaultPlace & OnboardingFaultWhat & OnboardingFaultSaid;

interface FaultPlace {
  /** line of the file, the header being 1; null: the file as a whole */
  readonly row: number | null;
  readonly column: OnboardingColumn | null;
  /** of the home that is left out for it */
  readonly dwelling: string | null;
}

export const faultAt = (place: FaultPlace, what: OnboardingFaultWhat): OnboardingFault => ({
  ...place,
  ...what,
  ...sayOnboardingFault(what),
});

/** A sensor as the file has it: whether it is to have an account, before there is a password. */
export type SensorInFile = Omit<SensorWanted, 'account'> & { readonly username: string | null; readonly row: number };
export type HomeInFile = Omit<HomeWanted, 'sensors'> & {
  readonly sensors: readonly SensorInFile[];
  /** line of its first row */
  readonly row: number;
  readonly placeRows: ReadonlyMap<string, number>;
};

export interface OnboardingFile {
  readonly homes: readonly HomeInFile[];
  readonly faults: readonly OnboardingFault[];
}

/** A common small house, to be drawn until somebody measures. No source. */
const usualSection: SectionDimensions = Object.freeze({
  pitchDeg: 35,
  slopeLengthMm: 1200,
  roomHeightMm: 2400,
  liningThicknessMm: 0,
  loftInsulationMm: 270,
  eavesGapMm: 50,
});

export const MOST_ROWS = 100_000;

type Row = Partial<Record<OnboardingColumn, string>> & { readonly line: number };

/** Reads a file of homes: every home without a fault, and every fault of the others. */
export function readHomes(text: string): OnboardingFile {
  const faults: OnboardingFault[] = [];
  const rows = rowsOf(text, faults);
  const bySlug = new Map<string, Row[]>();
  for (const row of rows) {
    const slug = row.dwelling ?? '';
    if (/^[a-z0-9]([a-z0-9-]{0,38}[a-z0-9])?$/.test(slug) && !slug.includes('--')) {
      bySlug.set(slug, [...(bySlug.get(slug) ?? []), row]);
    } else {
      const what: OnboardingFaultWhat =
        slug === '' ? { code: 'home-not-named', data: {} } : { code: 'bad-slug', data: { text: slug.slice(0, 60) } };
      faults.push(faultAt({ row: row.line, column: 'dwelling', dwelling: null }, what));
    }
  }
  const homes = [...bySlug].map(([slug, own]) => homeOf(slug, own, faults));
  sameElsewhere(homes, faults);
  const wrong = new Set(faults.map(({ dwelling }) => dwelling));
  return { homes: homes.filter(({ dwelling }) => !wrong.has(dwelling.slug)), faults: inOrder(faults) };
}

export const inOrder = (faults: readonly OnboardingFault[]): OnboardingFault[] =>
  [...faults].sort((a, b) => (a.row ?? 0) - (b.row ?? 0));

function rowsOf(text: string, faults: OnboardingFault[]): Row[] {
  const whole = (what: OnboardingFaultWhat, row: number | null = null): Row[] => {
    faults.push(faultAt({ row, column: null, dwelling: null }, what));
    return [];
  };
  const first = text.slice(0, text.search(/[\r\n]|$/));
  const delimiter = [',', ';', '\t'].sort((a, b) => first.split(b).length - first.split(a).length)[0]!;
  let parsed: { record: Record<string, string>; info: { lines: number } }[];
  try {
    parsed = parse(text, {
      bom: true,
      columns: (header: string[]) => header.map((name) => name.trim().toLowerCase()),
      delimiter,
      info: true,
      relax_column_count_less: true,
      skip_empty_lines: true,
      skip_records_with_empty_values: true,
      trim: true,
    }) as unknown as typeof parsed;
  } catch (error) {
    const { lines } = error as { lines?: number };
    return whole({ code: 'not-a-table', data: { reason: (error as Error).message } }, lines ?? null);
  }
  if (parsed.length > MOST_ROWS) {
    return whole({ code: 'too-many-rows', data: { rows: parsed.length, most: MOST_ROWS } });
  }
  if (parsed.length === 0) return whole({ code: 'no-rows', data: {} });
  const given = Object.keys(parsed[0]!.record);
  const unknown = given.filter((name) => !columnNames.includes(name as OnboardingColumn));
  for (const name of unknown) {
    whole({ code: 'unknown-column', data: { name: name.slice(0, 40), columns: columnNames.join(', ') } }, 1);
  }
  if (!given.includes('dwelling')) return whole({ code: 'no-dwelling-column', data: {} }, 1);
  return parsed.map(({ record, info }) => ({ ...filledCells(record), line: info.lines }));
}

const filledCells = (record: Record<string, string>): Partial<Record<OnboardingColumn, string>> =>
  Object.fromEntries(
    columnNames.flatMap((name) => (record[name] === undefined || record[name] === '' ? [] : [[name, record[name]]])),
  );

function homeOf(slug: string, rows: readonly Row[], faults: OnboardingFault[]): HomeInFile {
  const first = rows[0]!;
  const fault: Say = (row, column, what) => {
    faults.push(faultAt({ row, column, dwelling: slug }, what));
  };
  /** What is said of the home: once, or the same every time. */
  const once = (column: OnboardingColumn): string | null => {
    const said = rows.find((row) => row[column] !== undefined)?.[column] ?? null;
    for (const row of rows) {
      if (row[column] !== undefined && row[column] !== said) {
        fault(row.line, column, {
          code: 'said-otherwise',
          data: { dwelling: slug, before: said!, here: row[column]! },
        });
      }
    }
    return said;
  };
  const short = (column: OnboardingColumn, most: number): string | null => {
    const text = once(column);
    if (text !== null && text.length > most)
      fault(first.line, column, { code: 'too-long', data: { length: text.length, most } });
    return text;
  };
  const name = short('name', 80);
  const zone = once('zone');
  if (name === null) fault(first.line, 'name', { code: 'no-name', data: {} });
  if (zone === null) fault(first.line, 'zone', { code: 'no-zone', data: {} });
  else if (!IANAZone.isValidZone(zone)) {
    fault(first.line, 'zone', { code: 'bad-zone', data: { zone } });
  }
  const placeRows = new Map<string, number>();
  const places = placesOf(rows, placeRows, fault);
  return {
    dwelling: { slug, name: name ?? slug, zone: zone ?? 'UTC', section: usualSection },
    area: short('area', 60),
    buildType: short('build_type', 60),
    group: short('group', 60),
    places,
    sensors: sensorsOf(slug, rows, fault),
    row: first.line,
    placeRows,
  };
}

type Say = (row: number, column: OnboardingColumn, what: OnboardingFaultWhat) => void;

/** Places in the order of the file, but rooms before the surfaces that face them. */
function placesOf(rows: readonly Row[], placeRows: Map<string, number>, fault: Say): PlaceWanted[] {
  const places = new Map<string, PlaceWanted>();
  for (const { place: name, place_kind: kind, faces, line } of rows) {
    if (name === undefined) {
      if (kind !== undefined) fault(line, 'place', { code: 'kind-without-place', data: {} });
      continue;
    }
    if (name.length > 80) fault(line, 'place', { code: 'too-long', data: { length: name.length, most: 80 } });
    const known = places.get(name);
    const isKind = placeKinds.some((one) => one === kind);
    if (known === undefined && kind === undefined) {
      fault(line, 'place_kind', { code: 'no-kind', data: { place: name, kinds: placeKinds.join(', ') } });
    } else if (kind !== undefined && !isKind) {
      fault(line, 'place_kind', {
        code: 'bad-kind',
        data: { kind: kind.slice(0, 40), kinds: placeKinds.join(', ') },
      });
    } else if (known !== undefined && kind !== undefined && known.kind !== kind) {
      fault(line, 'place_kind', { code: 'two-kinds', data: { place: name, before: known.kind, here: kind } });
    } else if (known === undefined) {
      if (faces !== undefined && !isSurface(kind as PlaceKind)) {
        fault(line, 'faces', { code: 'faces-without-surface', data: { place: name } });
      }
      places.set(name, { name, kind: kind as PlaceKind, faces: faces ?? null });
      placeRows.set(name, line);
    }
  }
  for (const { name, faces } of places.values()) {
    if (faces !== null && places.has(faces) && places.get(faces)!.kind !== 'room-air') {
      fault(placeRows.get(name)!, 'faces', { code: 'faces-no-room', data: { place: faces } });
    }
  }
  return [...places.values()].sort((a, b) => Number(a.faces !== null) - Number(b.faces !== null));
}

function sensorsOf(slug: string, rows: readonly Row[], fault: Say): SensorInFile[] {
  const sensors = new Map<string, SensorInFile>();
  for (const row of rows) {
    const { sensor: key, line } = row;
    if (key === undefined) {
      for (const column of ['sensor_name', 'model', 'topic', 'reads', 'account'] as const) {
        if (row[column] !== undefined) fault(line, column, { code: 'sensor-not-named', data: {} });
      }
      continue;
    }
    if (!isSensorKey(key) || key.length > 100) {
      fault(line, 'sensor', { code: 'bad-sensor-key', data: { key: key.slice(0, 60) } });
      continue;
    }
    if (sensors.has(key)) {
      fault(line, 'sensor', { code: 'sensor-twice', data: { key, row: sensors.get(key)!.row } });
      continue;
    }
    const account = row.account?.toLowerCase() ?? 'no';
    if (account !== 'yes' && account !== 'no')
      fault(line, 'account', { code: 'neither-yes-nor-no', data: { text: row.account! } });
    const username = account === 'yes' ? `${slug}-${key}` : null;
    if (username !== null && !/^[A-Za-z0-9][A-Za-z0-9._-]{0,59}$/.test(username)) {
      fault(line, 'sensor', { code: 'bad-username', data: { username } });
    }
    for (const column of ['sensor_name', 'model'] as const) {
      const { length } = row[column] ?? '';
      if (length > 80) fault(line, column, { code: 'too-long', data: { length, most: 80 } });
    }
    sensors.set(key, {
      key,
      name: row.sensor_name ?? key,
      model: row.model ?? null,
      place: row.place ?? null,
      mapping: mappingOf(row, key, fault),
      username,
      row: line,
    });
  }
  return [...sensors.values()];
}

function mappingOf({ topic, reads, line }: Row, sensorKey: string, fault: Say): SensorInFile['mapping'] {
  if (topic === undefined) {
    if (reads !== undefined) fault(line, 'topic', { code: 'reads-without-topic', data: {} });
    return null;
  }
  if (/[+#{}]/.test(topic)) {
    fault(line, 'topic', { code: 'topic-of-many', data: {} });
    return null;
  }
  const values: MappedValue[] = [];
  for (const part of (reads ?? '').split(';').filter((text) => text.trim() !== '')) {
    const [pointer = '', wire = ''] = part.split('=').map((text) => text.trim());
    const quantity = quantityNames.find((one) => quantities[one].wire === wire);
    if (quantity === undefined) {
      fault(line, 'reads', {
        code: 'no-quantity',
        data: {
          part: part.trim().slice(0, 60),
          quantities: quantityNames.map((one) => quantities[one].wire).join(', '),
        },
      });
    } else values.push({ pointer, quantity, unit: unitsOf(quantity)[0]!, scale: 1, offset: 0, sensorKey: null });
  }
  const prepared = prepareMapping({ dwellingId: 0, topicPattern: topic, sensorKey, values, time: null });
  if (prepared.kind === 'faults') {
    for (const { pointer, detail } of prepared.faults) {
      fault(line, pointer.startsWith('/values') ? 'reads' : 'topic', { code: 'bad-mapping', data: { detail } });
    }
  }
  return { topicPattern: topic, values };
}

/** User names and topics are the whole install's. */
function sameElsewhere(homes: readonly HomeInFile[], faults: OnboardingFault[]): void {
  const seen = new Map<string, { row: number }>();
  for (const { dwelling, sensors } of homes) {
    for (const { row, username, mapping } of sensors) {
      for (const [column, text] of [
        ['sensor', username],
        ['topic', mapping?.topicPattern ?? null],
      ] as const) {
        if (text === null) continue;
        const before = seen.get(`${column} ${text}`);
        if (before === undefined) seen.set(`${column} ${text}`, { row });
        else {
          faults.push(
            faultAt(
              { row, column, dwelling: dwelling.slug },
              column === 'topic'
                ? { code: 'topic-twice', data: { topic: text, row: before.row } }
                : { code: 'username-twice', data: { username: text, row: before.row } },
            ),
          );
        }
      }
    }
  }
}
