import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import type { Pack, PackWanted } from '../../server/api/contract/packs.ts';
import { readScenario } from '../../server/commands/sample.ts';
import { sampleFolder } from '../../server/main.ts';
import { type Home, homeHours, homeReadings } from '../../server/simulate/home.ts';
import { sampleHome, sampleSpan } from '../../server/simulate/sample-home.ts';
import { DAY_MS, dayOf } from '../../server/store/canonical.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import type { IncomingReading } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { type BenchRow, within } from './row.ts';

const MB = 1e6;
const LIMIT = { seconds: 15, megabytes: 200, healthMs: 100 };
const SLUG = 'bench';
const cli = new URL('../../dist/server/cli.js', import.meta.url).pathname;

/** The sample home with a second cold strip and a second room: ten places, ten sensors. */
function tenPlaces(): Home {
  const again = (key: string) => sampleHome.sensors.find((sensor) => sensor.key === key)!;
  const { from } = sampleSpan;
  return {
    ...sampleHome,
    places: [
      ...sampleHome.places,
      { key: 'dormer', name: 'Slope beside the dormer', kind: 'ceiling-surface', faces: 'bedroom', point: 'slope' },
      { key: 'landing', name: 'Landing air', kind: 'room-air', faces: null, point: 'room' },
    ],
    sensors: [...sampleHome.sensors, { ...again('slope'), key: 'dormer' }, { ...again('bedroom'), key: 'landing' }],
    placements: [
      ...sampleHome.placements,
      { sensor: 'dormer', place: 'dormer', from, to: null },
      { sensor: 'landing', place: 'landing', from, to: null },
    ],
  };
}

/** Two winters of that home in a database, day by day as readings came, every day sealed. Gives how many readings. */
async function loadHome(databaseFile: string): Promise<number> {
  const home = tenPlaces();
  const { from, to } = sampleSpan;
  const scenario = await readScenario(sampleFolder);
  const store = await openSqliteStore(databaseFile);
  const { id: dwellingId } = await store.addDwelling({ ...scenario.dwelling, slug: SLUG });
  const placeIds = new Map<string, number>();
  for (const { key, name, kind, faces } of home.places) {
    const facesPlaceId = faces === null ? null : placeIds.get(faces)!;
    placeIds.set(key, (await store.addPlace({ dwellingId, name, kind, facesPlaceId })).id);
  }
  const sensorIds = new Map<string, number>();
  for (const { key } of home.sensors) sensorIds.set(key, (await store.ensureSensor(dwellingId, key)).id);
  for (const { sensor, place, from: since, to: until } of [...home.placements].sort((a, b) => a.from - b.from)) {
    await store.placeSensor(dwellingId, sensorIds.get(sensor)!, placeIds.get(place)!, since);
    if (until !== null) await store.placeSensor(dwellingId, sensorIds.get(sensor)!, null, until);
  }
  for (const { kind, name, from: since, to: until } of scenario.phases) {
    const end = until === null ? null : Date.parse(until);
    await store.addPhase({ dwellingId, kind, name, from: Date.parse(since), to: end });
  }
  for (const { time, kind, text } of scenario.diary) {
    await store.addDiaryEntry({ dwellingId, time: Date.parse(time), kind, text });
  }
  const hours = homeHours(home, to);
  const quantities = ['temperature', 'humidity', 'timberMoisture', 'battery'] as const;
  let count = 0;
  const days = new Map<number, IncomingReading[]>();
  for (const sensor of home.sensors) {
    for (const reading of homeReadings(home, hours, sensor, from, to)) {
      const { time } = reading;
      const day = dayOf(time);
      const own = days.get(day) ?? [];
      days.set(day, own);
      for (const quantity of quantities) {
        const value = reading[quantity];
        if (value !== null) own.push({ dwellingId, sensorKey: sensor.key, quantity, time, value });
      }
    }
  }
  for (let day = dayOf(from); day < dayOf(to); day++) {
    const readings = days.get(day) ?? [];
    const end = (day + 1) * DAY_MS;
    count += readings.length;
    await store.append({ receivedAt: end - 1, readings, quarantined: [] });
    await store.sealNextDay(dwellingId, day + 1, end);
  }
  await keepHours(store);
  await store.close();
  return count;
}

/** The most memory that the process which makes the pack has had so far, bytes; 0: it is not there. */
function peakOfMaker(server: number): number {
  try {
    for (const pid of readFileSync(`/proc/${server}/task/${server}/children`, 'utf8').trim().split(' ')) {
      if (!readFileSync(`/proc/${pid}/cmdline`, 'utf8').includes('pack-process')) continue;
      const [, kib] = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
      return Number(kib ?? 0) * 1024;
    }
  } catch {
    // it ended between two looks
  }
  return 0;
}

async function json<T>(url: string, body?: unknown): Promise<T> {
  const sent = { method: 'POST', body: JSON.stringify(body), headers: { 'content-type': 'application/json' } };
  const response = await fetch(url, body === undefined ? {} : sent);
  const text = await response.text();
  if (!response.ok) throw new Error(`${url} answered ${response.status}: ${text}`);
  return JSON.parse(text) as T;
}

/** Asks after the server's health, one question behind the other, until `done`; ms each took, in order of length. */
async function healthTimes(address: string, done: () => boolean): Promise<number[]> {
  const times: number[] = [];
  while (!done()) {
    const start = performance.now();
    const response = await fetch(`${address}/healthz`);
    const { status } = (await response.json()) as { status?: string };
    if (status === undefined) throw new Error(`/healthz answered ${response.status}`);
    times.push(performance.now() - start);
    await pause(10);
  }
  return times.sort((a, b) => a - b);
}

const p99 = (sorted: readonly number[]): number => sorted[Math.floor(sorted.length * 0.99)] ?? Number.POSITIVE_INFINITY;

interface Making {
  readonly pack: Pack;
  readonly seconds: number;
  readonly peak: number;
  readonly health: readonly number[];
}

/** Has the server make a pack of all of it with its report, as the page does. */
async function makePack(address: string, server: number): Promise<Making> {
  const wanted: PackWanted = {
    from: new Date(sampleSpan.from).toISOString(),
    to: new Date(sampleSpan.to).toISOString(),
    places: null,
    words: 'with-words',
    report: 'works',
  };
  const packs = `${address}/api/v1/dwellings/${SLUG}/packs`;
  const start = performance.now();
  let pack = await json<Pack>(packs, wanted);
  let peak = 0;
  const asked = healthTimes(address, () => pack.state !== 'making');
  while (pack.state === 'making') {
    await pause(25);
    peak = Math.max(peak, peakOfMaker(server));
    pack = await json<Pack>(`${packs}/${pack.id}`);
  }
  const seconds = (performance.now() - start) / 1000;
  if (peak === 0) throw new Error('the process that makes the pack was not seen: there is no /proc');
  if (pack.state !== 'ready') throw new Error(`the pack was not made: ${pack.problem}`);
  return { pack, seconds, peak, health: await asked };
}

/** An evidence pack of two winters and ten places with its report, made by the server; on Linux alone, for its /proc. */
export async function benchEvidence(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-evidence-'));
  try {
    const readings = await loadHome(join(folder, 'coomb.db'));
    const server = spawn(process.execPath, ['--max-semi-space-size=4', cli, 'start'], {
      env: { ...process.env, COOMB_HTTP_PORT: '0', COOMB_MQTT_PORT: '0', COOMB_DATA: folder },
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    try {
      const address = await printedAddress(server);
      // it looks through what it finds first: notices, forecasts, days without readings to seal
      await pause(20_000);
      const idleUntil = performance.now() + 5000;
      const idle = await healthTimes(address, () => performance.now() > idleUntil);
      const { pack, seconds, peak, health } = await makePack(address, server.pid!);
      const contents = `${readings} readings, ${(pack.bytes! / MB).toFixed(1)} MB`;
      const beside = `${health.length} questions, the longest ${health.at(-1)!.toFixed(0)} ms; ${p99(idle).toFixed(1)} ms with nothing to do`;
      return [
        within('pack of two winters and ten places, with report', seconds, LIMIT.seconds, 's', contents),
        within('process that makes it, most memory', peak / MB, LIMIT.megabytes, 'MB', 'VmHWM'),
        within('server meanwhile, 99th of 100 answers on its health', p99(health), LIMIT.healthMs, 'ms', beside),
      ];
    } finally {
      server.kill('SIGTERM');
      await once(server, 'exit');
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function printedAddress(server: ChildProcess): Promise<string> {
  let text = '';
  for await (const chunk of server.stdout!) {
    text += String(chunk);
    const match = /Open (http:\S+)/.exec(text);
    if (match) return match[1]!;
  }
  throw new Error(`the server ended without an address: ${text}`);
}
