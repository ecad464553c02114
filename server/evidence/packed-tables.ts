import { createReadStream, existsSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { isDeepStrictEqual } from 'node:util';
import type { Calibration } from '../analysis/calibration.ts';
import type { PhaseKind, PlaceKind } from '../analysis/vocabulary.ts';
import { DAY_MS } from '../store/canonical.ts';
import type { DaySeal, SeriesSeal } from '../store/port.ts';
import { textOf } from './check-bag.ts';
import type { PackContents } from './scope.ts';
import { type Cell, headerOf, rowOfLine, schemaOf, type Table } from './table.ts';
import * as t from './tables.ts';
import type { PackFault, Unpacked } from './unpack.ts';

type Complain = (fault: PackFault) => void;
type Row = Readonly<Record<string, Cell>>;

const MOST_FAULTS_A_TABLE = 5;

/** The rows of a table that hold to its schema; every other is named, up to a few. */
export async function* rowsOf<R>(
  pack: Unpacked,
  path: string,
  table: Table<R>,
  complain: Complain,
): AsyncGenerator<Row> {
  const member = `data/${path}`;
  let faults = 0;
  const fault = (message: string): void => {
    faults++;
    if (faults <= MOST_FAULTS_A_TABLE) complain({ part: 'table', member, message });
  };
  const whole = join(pack.folder, 'data', ...path.split('/'));
  if (!pack.digests.has(member) || !existsSync(whole)) {
    fault('the table is missing');
    return;
  }
  const keys = new Set<string>();
  const inOrder = table.primaryKey.length === 1 && table.primaryKey[0] === 'time_utc';
  let last = Number.NEGATIVE_INFINITY;
  let number = 0;
  for await (const line of createInterface({ input: createReadStream(whole), crlfDelay: Number.POSITIVE_INFINITY })) {
    number++;
    if (number === 1) {
      if (`${line}\n` !== headerOf(table)) {
        fault(`its header is not that of the table ${table.name}`);
        return;
      }
      continue;
    }
    let row: Row;
    try {
      row = rowOfLine(table, line);
    } catch (error) {
      fault(`line ${number}: ${(error as Error).message}`);
      continue;
    }
    if (inOrder) {
      const time = row.time_utc as number;
      if (time <= last) fault(`line ${number}: its time does not come after that of the line before`);
      last = time;
    } else {
      const key = JSON.stringify(table.primaryKey.map((name) => row[name]));
      if (keys.has(key)) fault(`line ${number}: ${table.primaryKey.join(', ')} ${key} is there twice`);
      keys.add(key);
    }
    yield row;
  }
  if (number === 0) fault('it is empty');
}

async function all<R>(pack: Unpacked, path: string, table: Table<R>, complain: Complain): Promise<Row[]> {
  const rows: Row[] = [];
  for await (const row of rowsOf(pack, path, table, complain)) rows.push(row);
  return rows;
}

const number = (cell: Cell | undefined): number => cell as number;
const maybe = (cell: Cell | undefined): number | null => cell as number | null;
const text = (cell: Cell | undefined): string => cell as string;

/** What is in a pack besides readings and figures, read back. Null where the home itself is not in it. */
export async function readPackedContents(pack: Unpacked, complain: Complain): Promise<PackContents | null> {
  const [own] = await all(pack, 'story/dwelling.csv', t.dwellingTable, complain);
  if (own === undefined) return null;
  const dwellingId = number(own.id);
  const [places, sensors, series, placements, phases, calibrations, diary] = await Promise.all([
    all(pack, 'story/places.csv', t.placeTable, complain),
    all(pack, 'story/sensors.csv', t.sensorTable, complain),
    all(pack, 'story/series.csv', t.seriesTable, complain),
    all(pack, 'story/placements.csv', t.placementTable, complain),
    all(pack, 'story/phases.csv', t.phaseTable, complain),
    all(pack, 'story/calibrations.csv', t.calibrationTable, complain),
    all(pack, 'story/diary.csv', t.diaryTable, complain),
  ]);
  return {
    dwelling: {
      id: dwellingId,
      slug: text(own.slug),
      name: text(own.name),
      zone: text(own.zone),
      section: {
        pitchDeg: number(own.pitch_deg),
        slopeLengthMm: number(own.slope_length_mm),
        roomHeightMm: number(own.room_height_mm),
        liningThicknessMm: number(own.lining_thickness_mm),
        loftInsulationMm: number(own.loft_insulation_mm),
        eavesGapMm: number(own.eaves_gap_mm),
      },
    },
    places: places.map((row) => ({
      id: number(row.id),
      dwellingId,
      name: text(row.name),
      kind: row.kind as PlaceKind,
      facesPlaceId: maybe(row.faces_place),
      position:
        row.section_along === null || row.section_up === null
          ? null
          : { along: number(row.section_along), up: number(row.section_up) },
    })),
    sensors: sensors.map((row) => ({
      id: number(row.id),
      dwellingId,
      key: text(row.key),
      name: text(row.name),
      model: row.model as string | null,
    })),
    series: series.map((row) => ({
      id: number(row.id),
      dwellingId,
      sensorId: number(row.sensor),
      quantity: t.quantityOfWire.get(text(row.quantity))!,
      intervalSeconds: maybe(row.interval_s),
      windows: row.windows as [number, number][],
    })),
    placements: placements.map((row) => ({
      id: number(row.id),
      dwellingId,
      sensorId: number(row.sensor),
      placeId: number(row.place),
      from: number(row.from_utc),
      to: maybe(row.to_utc),
    })),
    phases: phases.map((row) => ({
      id: number(row.id),
      dwellingId,
      kind: row.kind as PhaseKind,
      name: text(row.name),
      from: number(row.from_utc),
      to: maybe(row.to_utc),
    })),
    calibrations: calibrations.map((row) => ({
      id: number(row.id),
      dwellingId,
      seriesId: number(row.series),
      from: number(row.from_utc),
      method: row.method as Calibration['method'],
      points: [
        { reading: number(row.reading_1), reference: number(row.reference_1) },
        ...(row.reading_2 === null ? [] : [{ reading: number(row.reading_2), reference: number(row.reference_2) }]),
      ],
      uncertainty: number(row.uncertainty),
      sharedSource: row.shared_source as string | null,
      sharedUncertainty: number(row.shared_uncertainty),
      note: (row.note as string | null) ?? '',
      madeAt: number(row.made_at_utc),
      withdrawnAt: maybe(row.withdrawn_at_utc),
    })),
    diary: diary.map((row) => ({
      id: number(row.id),
      dwellingId,
      time: number(row.time_utc),
      kind: text(row.kind),
      text: text(row.text),
    })),
  };
}

export async function readChain(pack: Unpacked, complain: Complain): Promise<DaySeal[]> {
  const rows = await all(pack, 'provenance/chain.csv', t.chainTable, complain);
  return rows.map((row) => ({
    day: Date.parse(text(row.day)) / DAY_MS,
    readings: number(row.readings),
    readingsDigest: text(row.readings_sha256),
    firstChange: maybe(row.first_change),
    lastChange: maybe(row.last_change),
    changesDigest: text(row.changes_sha256),
    previous: text(row.previous),
    entry: text(row.entry),
    sealedAt: 0,
  }));
}

export async function readSeriesDays(pack: Unpacked, complain: Complain): Promise<SeriesSeal[]> {
  const rows = await all(pack, 'provenance/series-days.csv', t.seriesDayTable, complain);
  return rows.map((row) => ({
    day: Date.parse(text(row.day)) / DAY_MS,
    sensorId: number(row.sensor),
    quantity: t.quantityOfWire.get(text(row.quantity))!,
    readings: number(row.readings),
    first: number(row.first_utc),
    last: number(row.last_utc),
    digest: text(row.sha256),
  }));
}

/** Tables that nothing else reads, held to their schemas; and datapackage.json, that it describes what is there. */
export async function checkTables(pack: Unpacked, contents: PackContents, complain: Complain): Promise<void> {
  const aside: [string, Table<never>][] = [
    ['story/imports.csv', t.importTable as Table<never>],
    ['aside/conflicts.csv', t.conflictTable as Table<never>],
  ];
  for (const [path, table] of [['aside/quarantine.csv', t.quarantineTable as Table<never>]] as [
    string,
    Table<never>,
  ][]) {
    if (pack.digests.has(`data/${path}`)) aside.push([path, table]);
  }
  for (const [path, table] of aside) for await (const _ of rowsOf(pack, path, table, complain));
  const tables = new Map<string, Table<never>>([
    ...contents.series.map(({ id, quantity }): [string, Table<never>] => [
      `readings/series-${id}.csv`,
      t.readingTable(id, quantity) as Table<never>,
    ]),
    ...contents.places.map(({ id }): [string, Table<never>] => [
      `hours/place-${id}.csv`,
      t.hourTable(id) as Table<never>,
    ]),
    ...aside,
    ...(
      [
        ['story/dwelling.csv', t.dwellingTable],
        ['story/places.csv', t.placeTable],
        ['story/sensors.csv', t.sensorTable],
        ['story/series.csv', t.seriesTable],
        ['story/placements.csv', t.placementTable],
        ['story/phases.csv', t.phaseTable],
        ['story/calibrations.csv', t.calibrationTable],
        ['story/diary.csv', t.diaryTable],
        ['story/photos.csv', t.photoTable],
        ['figures.csv', t.figureTable],
        ['provenance/chain.csv', t.chainTable],
        ['provenance/series-days.csv', t.seriesDayTable],
      ] as unknown as [string, Table<never>][]
    ).filter(([path]) => path !== 'story/photos.csv' || pack.digests.has('data/story/photos.csv')),
  ]);
  checkDescription(pack, tables, complain);
}

function checkDescription(pack: Unpacked, tables: ReadonlyMap<string, Table<never>>, complain: Complain): void {
  const member = 'data/datapackage.json';
  const fault = (message: string): void => complain({ part: 'table', member, message });
  let resources: { path?: unknown; schema?: unknown }[];
  try {
    resources = (JSON.parse(textOf(pack, member) ?? '') as { resources: typeof resources }).resources;
    if (!Array.isArray(resources)) throw new Error('it lists no resources');
  } catch (error) {
    fault(`it cannot be read: ${(error as Error).message}`);
    return;
  }
  for (const { path, schema } of resources) {
    const table = tables.get(String(path));
    if (table === undefined) fault(`it describes ${String(path)}, which is no table of a pack`);
    else if (!isDeepStrictEqual(schema, JSON.parse(JSON.stringify(schemaOf(table))))) {
      fault(`its schema of ${String(path)} is not that of the table`);
    }
  }
  for (const path of tables.keys()) {
    if (!resources.some((one) => one.path === path)) fault(`it does not describe ${path}`);
  }
}
