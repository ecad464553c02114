import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import { assessmentSettings } from '../analysis/assessment-settings.ts';
import { healthSettings } from '../analysis/health/settings.ts';
import { hourSettings } from '../analysis/hours.ts';
import { DAY_MS } from '../store/canonical.ts';
import type { LastReading, Store } from '../store/port.ts';
import { checkBag, checkSignature, textOf } from './check-bag.ts';
import { checkChain, checkStory, readJournal, type Summed, sumSeries } from './check-chain.ts';
import { checkPhotos } from './check-photos.ts';
import { type Figure, figuresOf } from './figures.ts';
import { hourPages } from './members.ts';
import { checkTables, readChain, readPackedContents, readSeriesDays, rowsOf } from './packed-tables.ts';
import { rebuild, type StoreOpener } from './rebuilt.ts';
import { readResults } from './results.ts';
import type { PackContents } from './scope.ts';
import type { Cell } from './table.ts';
import * as t from './tables.ts';
import { type PackFault, type Unpacked, unpack } from './unpack.ts';

/** A figure that does not come out as the pack states it. */
export interface FigureDifference {
  readonly id: string;
  readonly stated: string;
  readonly workedOut: string;
}

export interface Verification {
  /** empty: the pack is whole, signed, and its figures follow from its readings */
  readonly faults: readonly PackFault[];
  readonly differences: readonly FigureDifference[];
  /** of the key that signed it; null: not signed */
  readonly fingerprint: string | null;
  readonly signedAt: string | null;
  readonly readings: number;
  readonly figures: number;
  readonly hours: number;
  /** sealed days, and days of a series that were whole in the pack and were summed up again */
  readonly days: number;
  readonly seriesDays: number;
}

export interface Expectation {
  /** fingerprint of the key that should have signed; null: not known */
  readonly fingerprint: string | null;
  /** entries of the chain that were received from it at the time, by day */
  readonly entries: ReadonlyMap<string, string>;
}

/**
 * Checks an evidence pack: bag, signature, tables, chain of days, and every figure and hour worked out again from the raw
 * readings in it, in a store made of nothing else. Goes on as far as it can and names everything that is wrong.
 */
export async function verifyPack(file: string, openStore: StoreOpener, expected: Expectation): Promise<Verification> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-verify-'));
  const faults: PackFault[] = [];
  const complain = (fault: PackFault): void => {
    faults.push(fault);
  };
  const nothing = {
    differences: [],
    fingerprint: null,
    signedAt: null,
    readings: 0,
    figures: 0,
    hours: 0,
    days: 0,
    seriesDays: 0,
  };
  try {
    const pack = await unpack(file, folder, complain);
    if (pack === null) return { ...nothing, faults };
    checkBag(pack, complain);
    const signing = checkSignature(pack, expected.fingerprint, complain);
    const chain = await readChain(pack, complain);
    const seriesDays = await readSeriesDays(pack, complain);
    const journal = readJournal(pack, complain);
    checkChain(chain, seriesDays, journal, expected.entries, complain);
    const settings = readSettings(pack, complain);
    const contents = await readPackedContents(pack, complain);
    if (contents === null || settings === null) return { ...nothing, ...signing, faults, days: chain.length };
    await checkTables(pack, contents, complain);
    await checkPhotos(pack, contents, journal, settings.journalTextKey, complain);

    const summed: Summed = { whole: 0 };
    let readings = 0;
    const pages = (series: t.PackedSeries) =>
      packedPages(pack, series, sumSeries(series, chain, seriesDays, summed, complain), complain);
    try {
      const rebuilt = await rebuild(openStore, contents, pages, (count) => {
        readings += count;
      });
      try {
        const story = await rebuilt.store.storyNow(contents.dwelling.id, settings.journalTextKey ?? '00');
        checkStory(contents, story, journal, settings.journalTextKey, complain);
        const hours = await checkHours(pack, contents, rebuilt.store, settings.scope, complain);
        const results = await readResults(rebuilt.store, contents.dwelling, settings.now);
        const workedOut = figuresOf(results);
        const differences = await compareFigures(pack, workedOut, complain);
        for (const { id, stated, workedOut: own } of differences) {
          complain({
            part: 'figures',
            member: 'data/figures.csv',
            message: `${id} is stated as ${stated}; from the readings it is ${own}`,
          });
        }
        return {
          ...signing,
          faults,
          differences,
          readings,
          figures: workedOut.length,
          hours,
          days: chain.length,
          seriesDays: summed.whole,
        };
      } finally {
        await rebuilt.close();
      }
    } catch (error) {
      complain({
        part: 'figures',
        member: null,
        message: `the figures cannot be worked out again: ${(error as Error).message}`,
      });
      return { ...nothing, ...signing, faults, readings, days: chain.length, seriesDays: summed.whole };
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

interface PackedSettings {
  readonly now: number;
  readonly scope: { readonly from: number; readonly to: number };
  readonly journalTextKey: string | null;
}

function readSettings(pack: Unpacked, complain: (fault: PackFault) => void): PackedSettings | null {
  const member = 'data/settings.json';
  const fault = (message: string): void => complain({ part: 'table', member, message });
  try {
    const settings = JSON.parse(textOf(pack, member) ?? '') as PackedSettings & Record<string, unknown>;
    const { now, scope, journalTextKey } = settings;
    if (!Number.isInteger(now) || !Number.isInteger(scope?.from) || !Number.isInteger(scope?.to)) {
      throw new Error('it does not say what span the pack covers');
    }
    if (journalTextKey !== null && !/^[0-9a-f]{64}$/.test(journalTextKey))
      throw new Error('its journalTextKey is no key');
    const own = JSON.parse(JSON.stringify({ hourSettings, assessmentSettings, healthSettings })) as Record<
      string,
      unknown
    >;
    for (const [name, value] of Object.entries(own)) {
      if (!isDeepStrictEqual(settings[name], value)) {
        fault(`its ${name} are not those of this program, so figures may differ: use the version that made the pack`);
      }
    }
    return { now, scope, journalTextKey };
  } catch (error) {
    fault(`it cannot be used: ${(error as Error).message}`);
    return null;
  }
}

const READINGS_A_PAGE = 5_000;

async function* packedPages(
  pack: Unpacked,
  series: t.PackedSeries,
  sums: ReturnType<typeof sumSeries>,
  complain: (fault: PackFault) => void,
) {
  const table = t.readingTable(series.id, series.quantity);
  const path = `readings/series-${series.id}.csv`;
  const valueName = table.fields[2]!.name;
  let page: Pick<LastReading, 'time' | 'value'>[] = [];
  let others = 0;
  let outside = 0;
  for await (const row of rowsOf(pack, path, table, complain)) {
    const time = row.time_utc as number;
    const value = row[valueName] as number;
    if (row.sensor !== series.sensorId) others++;
    if (!series.windows.some(([from, to]) => time >= from && time < to)) outside++;
    sums.add(time, value, Date.parse(row.arrived_on as string) / DAY_MS);
    page.push({ time, value });
    if (page.length === READINGS_A_PAGE) {
      yield page;
      page = [];
    }
  }
  if (page.length > 0) yield page;
  const fault = (message: string): void => complain({ part: 'table', member: `data/${path}`, message });
  if (others > 0) fault(`${others} rows are of another sensor than series.csv says`);
  if (outside > 0) fault(`${outside} rows lie outside the span that series.csv says the pack covers`);
  sums.end();
}

/** Share of a figure by which another computer's arithmetic may differ: its last few digits. */
const LAST_DIGITS = 1e-9;

const same = (one: Cell | undefined, other: Cell | undefined): boolean => {
  if (typeof one === 'number' && typeof other === 'number') {
    return Math.abs(one - other) <= LAST_DIGITS * Math.max(1, Math.abs(one), Math.abs(other));
  }
  return one === other;
};

async function* rowsIn<Row>(pages: AsyncIterable<readonly Row[]>) {
  for await (const page of pages) yield* page;
}

async function checkHours(
  pack: Unpacked,
  contents: PackContents,
  store: Store,
  span: { readonly from: number; readonly to: number },
  complain: (fault: PackFault) => void,
): Promise<number> {
  let hours = 0;
  for (const { id } of contents.places) {
    const table = t.hourTable(id);
    const path = `hours/place-${id}.csv`;
    let wrong = 0;
    let first = '';
    const note = (hour: number, what: string): void => {
      wrong++;
      if (wrong === 1) first = `${new Date(hour).toISOString()}: ${what}`;
    };
    const own = rowsIn(hourPages(store, contents.dwelling.id, id, span));
    let next = await own.next();
    for await (const row of rowsOf(pack, path, table, complain)) {
      const hour = row.hour_utc as number;
      hours++;
      while (!next.done && next.value.hour < hour) {
        note(next.value.hour, 'the hour is not in the pack');
        next = await own.next();
      }
      if (next.done || next.value.hour !== hour) {
        note(hour, 'no reading of the pack lies in this hour');
        continue;
      }
      const record = next.value;
      const differs = table.fields.find((field) => !same(row[field.name], field.of(record)));
      if (differs !== undefined) {
        note(hour, `${differs.name} is ${row[differs.name] ?? 'empty'}, worked out ${differs.of(record) ?? 'empty'}`);
      }
      next = await own.next();
    }
    while (!next.done) {
      note(next.value.hour, 'the hour is not in the pack');
      next = await own.next();
    }
    if (wrong > 0) {
      complain({ part: 'hours', member: `data/${path}`, message: `${wrong} hours differ, the first ${first}` });
    }
  }
  return hours;
}

const compared = ['label', 'value', 'plus_minus', 'low', 'high', 'words', 'unit', 'formula', 'source'] as const;

async function compareFigures(
  pack: Unpacked,
  workedOut: readonly Figure[],
  complain: (fault: PackFault) => void,
): Promise<FigureDifference[]> {
  const stated = new Map<string, Readonly<Record<string, Cell>>>();
  for await (const row of rowsOf(pack, 'figures.csv', t.figureTable, complain)) stated.set(row.id as string, row);
  const differences: FigureDifference[] = [];
  const shown = (cell: Cell | undefined): string => (cell === null || cell === undefined ? 'not known' : String(cell));
  for (const figure of workedOut) {
    const row = stated.get(figure.id);
    stated.delete(figure.id);
    if (row === undefined) {
      differences.push({ id: figure.id, stated: 'not stated', workedOut: shown(figure.value ?? figure.words) });
      continue;
    }
    for (const field of t.figureTable.fields) {
      const known = compared.find((name) => name === field.name);
      const own = field.of(figure);
      if (known === undefined || same(row[field.name], own)) continue;
      differences.push({
        id: figure.id,
        stated: `${field.name} ${shown(row[field.name])}`,
        workedOut: shown(own),
      });
    }
  }
  for (const [id, row] of stated)
    differences.push({ id, stated: shown(row.value ?? row.words), workedOut: 'no such figure' });
  return differences;
}
