import { execFile } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { parse } from 'csv-parse/sync';
import { asyncBufferFromFile, parquetMetadataAsync, parquetReadObjects } from 'hyparquet';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { type Coomb, databaseFile, startCoomb } from '../../server/main.ts';
import { quantities } from '../../server/physics/quantities.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { DAY, FROM, givenSealedHome, hostile, TO } from './home.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
let folder: string;
let coomb: Coomb;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-export-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  const store = await openSqliteStore(databaseFile(config));
  await givenSealedHome(store);
  await store.close();
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => TO + 3_600_000);
  await coomb.settled();
}, 120_000);

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true, force: true });
});

const download = (query: Record<string, string>): Promise<Response> =>
  fetch(`${coomb.address}/api/v1/dwellings/larch/export?${new URLSearchParams(query)}`);

/** Runs the command as a user would, in a process of its own. */
async function command(...parameters: string[]): Promise<void> {
  const parts = ['--import', 'tsx', join(root, 'server/cli.ts'), 'export', '--data', folder, ...parameters];
  await promisify(execFile)(process.execPath, parts, { cwd: root });
}

type Row = Readonly<Record<string, unknown>>;
const csvRows = (text: string): Record<string, string>[] => parse(text, { columns: true });
const jsonRows = (text: string): Row[] =>
  text
    .trimEnd()
    .split('\n')
    .map((line) => JSON.parse(line));

/** A text as it was before the rule for risky cells, which the README of a pack states. */
const plain = (cell: string): string => (cell.startsWith('"') ? JSON.parse(cell) : cell);

describe('a plain export of readings', () => {
  it('as CSV has every reading as it is stored, in order, each with its sensor, quantity and day of arrival', async () => {
    const response = await download({ what: 'readings' });
    expect(response.status).toBe(200);
    expect(response.headers.get('content-type')).toContain('text/csv');
    expect(response.headers.get('content-disposition')).toBe('attachment; filename="coomb-readings-larch.csv"');
    const rows = csvRows(await response.text());
    const { store } = coomb;
    const keyOf = new Map((await store.sensors(1)).map(({ id, key }) => [id, key]));
    const stored: string[][] = [];
    for (const { id, sensorId, quantity } of await store.series(1)) {
      for (const { time, value } of await store.readings(1, id, 0, TO + DAY, 100_000)) {
        const at = new Date(time).toISOString();
        const day = at.slice(0, 10);
        stored.push([keyOf.get(sensorId)!, quantities[quantity].wire, String(sensorId), at, String(value), day, '']);
      }
    }
    expect(stored.length).toBe(42 * 48 * 8);
    expect(rows.map(({ sensor_key, ...row }) => [plain(sensor_key!), ...Object.values(row)])).toEqual(stored);
    // no cell that a spreadsheet would run
    expect(rows.some((row) => Object.values(row).some((cell) => /^[=+@]/.test(cell)))).toBe(false);
    expect(rows.some((row) => plain(row.sensor_key!) === hostile.sensor)).toBe(true);
  });

  it('keeps to its span: the first instant is in it, the last is not', async () => {
    const from = new Date(FROM + DAY).toISOString();
    const to = new Date(FROM + 2 * DAY).toISOString();
    const rows = csvRows(await (await download({ what: 'readings', from, to })).text());
    expect(rows.length).toBe(48 * 8);
    expect(new Set(rows.map((row) => row.time_utc!.slice(0, 10)))).toEqual(new Set([from.slice(0, 10)]));
  });

  it('as JSON Lines and as Parquet says the same, missing as null, and a general reader understands it', async () => {
    const csv = csvRows(await (await download({ what: 'readings' })).text());
    const json = jsonRows(await (await download({ what: 'readings', format: 'json' })).text());
    expect(json.length).toBe(csv.length);
    expect(json.map((row) => row.value)).toEqual(csv.map((row) => Number(row.value)));
    expect(json.map((row) => row.time_utc)).toEqual(csv.map((row) => row.time_utc));
    const file = join(folder, 'readings.parquet');
    await command('--format', 'parquet', '--out', file);
    const buffer = await asyncBufferFromFile(file);
    const metadata = await parquetMetadataAsync(buffer);
    expect(metadata.row_groups.length).toBeGreaterThan(1);
    const rows = await parquetReadObjects({ file: buffer });
    expect(
      rows.map((row) => ({
        ...row,
        time_utc: row.time_utc.toISOString(),
        arrived_on: row.arrived_on.toISOString().slice(0, 10),
      })),
    ).toEqual(json);
  });
});

describe('a plain export of hours', () => {
  it('is the same as CSV, JSON Lines and Parquet, by the API and by the command', async () => {
    const text = await (await download({ what: 'hours' })).text();
    const csv = csvRows(text);
    expect(csv.length).toBe(5 * 42 * 24);
    const json = jsonRows(await (await download({ what: 'hours', format: 'json' })).text());
    const shown = (value: unknown): string => (value === null ? '' : String(value));
    expect(csv.map(({ place_name, ...row }) => ({ ...row, place_name: plain(place_name!) }))).toEqual(
      json.map((row) => Object.fromEntries(Object.entries(row).map(([name, value]) => [name, shown(value)]))),
    );
    const records = await coomb.store.hourRecords(1, 2, FROM, TO);
    const surface = json.filter((row) => row.place === 2);
    expect(surface.map((row) => row.margin_min_k)).toEqual(records.map((record) => record.marginMin));
    expect(surface[0]!.place_name).toBe(hostile.surface);
    expect(surface.some((row) => row.humidity_mean_pct !== null)).toBe(false);

    const plainFile = join(folder, 'hours.csv');
    await command('--what', 'hours', '--out', plainFile);
    expect(readFileSync(plainFile, 'utf8')).toBe(text);
    const response = await download({ what: 'hours', format: 'parquet' });
    expect(response.headers.get('content-type')).toBe('application/vnd.apache.parquet');
    const rows = await parquetReadObjects({ file: await response.arrayBuffer() });
    expect(rows.map((row) => ({ ...row, hour_utc: row.hour_utc.toISOString() }))).toEqual(json);
  });
});

describe('what cannot be exported', () => {
  it('is refused with what to do; nothing is overwritten', async () => {
    expect((await download({ what: 'walls' })).status).toBe(400);
    const backwards = { what: 'hours', from: '2026-01-02T00:00:00Z', to: '2026-01-01T00:00:00Z' };
    expect(await (await download(backwards)).json()).toMatchObject({ status: 400, code: 'bad-request' });
    await expect(command('--out', join(folder, 'coomb.db'))).rejects.toThrow('choose another name');
  });

  it('an export leaves a line on the trail', async () => {
    await (await download({ what: 'hours' })).text();
    const trail = (await (await fetch(`${coomb.address}/api/v1/access/trail`)).json()) as Row[];
    expect(trail[0]).toMatchObject({ action: 'exportRows', dwelling: 'larch' });
  });
});
