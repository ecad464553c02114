import { createHash } from 'node:crypto';
import { assessmentSettings } from '../analysis/assessment-settings.ts';
import { healthSettings } from '../analysis/health/settings.ts';
import { hourSettings } from '../analysis/hours.ts';
import { changeLine, dayOf } from '../store/canonical.ts';
import type { Arrival, LastReading, Photo, Series, Store } from '../store/port.ts';
import type { PackMember } from './bag.ts';
import { type Covering, coveringText } from './covering.ts';
import type { Figure } from './figures.ts';
import { methodText } from './method.ts';
import type { Results } from './results.ts';
import type { PackContents, PackScope } from './scope.ts';
import { headerOf, lineOf, schemaOf, type Table } from './table.ts';
import * as t from './tables.ts';

/** Everything a member of a pack may be made from. */
export interface PackSource {
  /** the store that is packed: provenance, conflicts, quarantine, photos */
  readonly source: Store;
  /** what was made of the contents alone: readings, hours */
  readonly rebuilt: Store;
  readonly contents: PackContents;
  readonly scope: PackScope;
  readonly results: Results;
  readonly figures: readonly Figure[];
  readonly covering: Covering;
  readonly version: string;
}

const MOST = 1_000_000;
const READINGS_A_PAGE = 5_000;

interface TableMember {
  readonly path: string;
  readonly table: Table<never>;
}

type AddTable = <Row>(path: string, table: Table<Row>, pages: () => Pages<Row>) => void;

/** Rows of a table, a page at a time. */
type Pages<Row> = AsyncIterable<readonly Row[]> | Iterable<readonly Row[]>;

/** The payload of a pack, in the order in which it is written. */
export async function packMembers(given: PackSource, more: readonly PackMember[] = []): Promise<PackMember[]> {
  const { source, rebuilt, contents, scope, results, figures, covering, version } = given;
  const dwellingId = contents.dwelling.id;
  const tables: TableMember[] = [];
  const members: PackMember[] = [];
  const addTable: AddTable = (path, table, pages) => {
    tables.push({ path, table: table as Table<never> });
    members.push({
      path,
      async *contents() {
        yield headerOf(table);
        for await (const page of pages()) yield page.map((row) => lineOf(table, row)).join('');
      },
    });
  };
  const addText = (path: string, text: () => string): void => {
    members.push({ path, contents: () => [text()] });
  };

  for (const series of contents.series) {
    const { id, quantity } = series;
    addTable(`readings/series-${id}.csv`, t.readingTable(id, quantity), () =>
      withArrivals(source, dwellingId, series, readingPages(rebuilt, dwellingId, id)),
    );
  }
  addTable('story/dwelling.csv', t.dwellingTable, () => [[contents.dwelling]]);
  addTable('story/places.csv', t.placeTable, () => [contents.places]);
  addTable('story/sensors.csv', t.sensorTable, () => [contents.sensors]);
  addTable('story/series.csv', t.seriesTable, () => [contents.series]);
  addTable('story/placements.csv', t.placementTable, () => [contents.placements]);
  addTable('story/phases.csv', t.phaseTable, () => [contents.phases]);
  addTable('story/calibrations.csv', t.calibrationTable, () => [contents.calibrations]);
  addTable('story/diary.csv', t.diaryTable, () => [contents.diary]);
  const imports = await source.imports(dwellingId);
  addTable('story/imports.csv', t.importTable, () => [
    scope.words === 'with-words' ? imports : imports.map((one) => ({ ...one, name: `import ${one.id}` })),
  ]);
  if (scope.words === 'with-words') members.push(...(await photoMembers(source, contents, addTable)));

  const seriesIds = new Set(contents.series.map(({ id }) => id));
  const conflicts = (await source.conflicts(dwellingId, MOST)).filter(
    ({ seriesId, time }) => seriesIds.has(seriesId) && time >= scope.from && time < scope.to,
  );
  addTable('aside/conflicts.csv', t.conflictTable, () => [conflicts]);
  if (scope.words === 'with-words') {
    addTable('aside/quarantine.csv', t.quarantineTable, () => quarantinePages(source, scope, contents.dwelling.slug));
  }

  for (const place of contents.places) {
    addTable(`hours/place-${place.id}.csv`, t.hourTable(place.id), () =>
      hourPages(rebuilt, dwellingId, place.id, scope),
    );
  }
  addTable('figures.csv', t.figureTable, () => [figures]);
  addText('assessments.json', () => `${JSON.stringify(results.surfaces, null, 1)}\n`);
  addText('method.txt', methodText);
  addText('settings.json', () => `${JSON.stringify(settingsOf(scope, results, covering, version), null, 2)}\n`);

  const seals = covering.seals;
  addTable('provenance/chain.csv', t.chainTable, () => [seals]);
  addTable('provenance/series-days.csv', t.seriesDayTable, () =>
    seals.length === 0 ? [] : seriesDays(source, dwellingId, seals[0]!.day, seals.at(-1)!.day),
  );
  const journal = await source.journal(dwellingId);
  members.push({ path: 'provenance/journal.txt', contents: () => journal.map(changeLine) });
  addText('provenance/covering.txt', () => coveringText(covering));
  members.push(...more);
  addText('datapackage.json', () => `${JSON.stringify(dataPackage(tables), null, 1)}\n`);
  return members;
}

/** Readings of a series with when and from which file they came, a page at a time. */
export async function* withArrivals(
  source: Store,
  dwellingId: number,
  { id, sensorId }: Pick<Series, 'id' | 'sensorId'>,
  pages: AsyncIterable<readonly Pick<LastReading, 'time' | 'value'>[]>,
) {
  const arrivedOf = arrivalFinder(await source.arrivals(dwellingId, id));
  for await (const page of pages) {
    yield page.map(({ time, value }): t.PackedReading => {
      const arrival = arrivedOf(time);
      return { sensorId, time, value, arrivedOn: arrival?.day ?? dayOf(time), importId: arrival?.importId ?? null };
    });
  }
}

/** Finds what is recorded of the arrival of readings, asked for in order of time. */
function arrivalFinder(arrivals: readonly Arrival[]): (time: number) => Arrival | null {
  let next = 0;
  return (time) => {
    while (next < arrivals.length && arrivals[next]!.to < time) next++;
    const arrival = arrivals[next];
    return arrival !== undefined && arrival.from <= time ? arrival : null;
  };
}

/** Readings of a series, oldest first, a page at a time. */
export async function* readingPages(
  store: Store,
  dwellingId: number,
  seriesId: number,
  from = 0,
  to = Number.POSITIVE_INFINITY,
) {
  for (let at = from; ; ) {
    const page = await store.readings(dwellingId, seriesId, at, to, READINGS_A_PAGE);
    if (page.length > 0) yield page;
    if (page.length < READINGS_A_PAGE) return;
    at = page.at(-1)!.time + 1;
  }
}

async function* seriesDays(store: Store, dwellingId: number, first: number, last: number) {
  for (let day = first; day <= last; day += 50) {
    yield await store.seriesSeals(dwellingId, day, Math.min(day + 50, last + 1));
  }
}

const HOURS_A_PAGE = 24 * 60 * 3_600_000;

/** Hour records of a place, and whether they count, in order of time, a page at a time. */
export async function* hourPages(
  store: Store,
  dwellingId: number,
  placeId: number,
  { from, to }: Pick<PackScope, 'from' | 'to'>,
) {
  // of the whole span at once: what makes an hour doubtful reaches over the ends of a page
  const columns = await store.hourColumns(dwellingId, placeId, from, to, ['temperature', 'margin']);
  for (let at = from; at < to; at += HOURS_A_PAGE) {
    const end = Math.min(to, at + HOURS_A_PAGE);
    const records = await store.hourRecords(dwellingId, placeId, at, end);
    if (records.length === 0) continue;
    yield records.map((record): t.PackedHour => {
      const i = (record.hour - from) / 3_600_000;
      const doubtful = (value: number | null, column: Float64Array): boolean =>
        value !== null && Number.isNaN(column[i]!);
      const counted = record.temperatureCoverage >= hourSettings.coverageWanted ? record.temperatureMean : null;
      const leftOut = doubtful(record.marginMean, columns.margin) || doubtful(counted, columns.temperature);
      return { ...record, leftOut };
    });
  }
}

async function* quarantinePages(store: Store, { from, to }: PackScope, slug: string) {
  const own = `coomb/${slug}/`;
  for (let after = own; ; ) {
    const topics = await store.unresolvedTopics(after, 100);
    for (const topic of topics) {
      if (!topic.startsWith(own)) return;
      for (let id = 0; ; ) {
        const page = await store.unresolved(topic, id, 100);
        yield page.filter(({ receivedAt }) => receivedAt >= from && receivedAt < to);
        if (page.length === 0) break;
        id = page.at(-1)!.id;
      }
    }
    if (topics.length < 100) return;
    after = topics.at(-1)!;
  }
}

async function photoMembers(
  store: Store,
  { dwelling, diary }: PackContents,
  addTable: AddTable,
): Promise<PackMember[]> {
  const entries = new Set(diary.map(({ id }) => id));
  const photos = (await store.photos(dwelling.id)).filter(({ entryId }) => entryId !== null && entries.has(entryId));
  const rows: (Photo & { path: string; digest: string })[] = [];
  for (const photo of photos) {
    const image = await store.photoImage(dwelling.id, photo.id, 'full');
    const digest = createHash('sha256').update(image).digest('hex');
    rows.push({ ...photo, path: `photos/photo-${photo.id}.jpg`, digest });
  }
  addTable('story/photos.csv', t.photoTable, () => [rows]);
  return rows.map(({ id, path }) => ({
    path,
    compressed: true,
    async *contents() {
      yield await store.photoImage(dwelling.id, id, 'full');
    },
  }));
}

const settingsOf = (scope: PackScope, { now }: Results, { sealing }: Covering, version: string) => ({
  program: { name: 'coomb', version },
  scope,
  now,
  /** key of the digests that stand for names and notes in the journal; only given where these go along */
  journalTextKey: scope.words === 'with-words' ? (sealing?.textKey ?? null) : null,
  hourSettings,
  assessmentSettings,
  healthSettings,
});

/** @source Frictionless Data Package v1, tabular data resources */
const dataPackage = (tables: readonly TableMember[]) => ({
  profile: 'tabular-data-package',
  name: 'coomb-evidence',
  resources: tables.map(({ path, table }) => ({
    profile: 'tabular-data-resource',
    name: table.name,
    path,
    title: table.title,
    format: 'csv',
    mediatype: 'text/csv',
    encoding: 'utf-8',
    dialect: { delimiter: ',', lineTerminator: '\n', quoteChar: '"', doubleQuote: true, header: true },
    schema: schemaOf(table),
  })),
});
