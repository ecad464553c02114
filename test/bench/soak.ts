import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import mqtt, { type MqttClient } from 'mqtt';
import { placeKinds } from '../../server/analysis/vocabulary.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import type { BenchRow } from './row.ts';
import { addHome, listen, median, type Running, start, valuesAt } from './running.ts';

const HOMES = 20;
const SENSORS = placeKinds.length;
/** messages a second; the homes would send two or three, at a message of each sensor a minute */
const RATE = 50;
const MINUTES = Number(process.env.COOMB_BENCH_SOAK_MINUTES ?? 60);
const MINUTE_MS = 60_000;
const SAMPLE_MS = 5_000;
/** Growth that is still called flat: less than the resident memory of one process varies by from run to run. */
const FLAT = 1.1;

interface Sample {
  /** of the whole length, 0 to 1 */
  readonly share: number;
  /** MiB */
  readonly resident: number;
  readonly handles: number;
}

/**
 * An hour of everything at once: twenty homes that send, repeat themselves, contradict themselves and send what cannot be
 * read; devices that come and go; pages that open, look around, listen and leave; a backup every ten minutes. Memory and file
 * handles of the last quarter are held to those of the second, when all that is kept is kept.
 */
export async function benchSoak(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-soak-'));
  try {
    const store = await openSqliteStore(join(folder, 'coomb.db'));
    for (let home = 0; home < HOMES; home++) await addHome(store, `home-${home}`, SENSORS);
    await store.close();
    const { samples, counts, peak } = await everything(folder);
    const kept = await readingsKept(folder);
    const quarter = (n: number): Sample[] => samples.filter(({ share }) => share >= (n - 1) / 4 && share < n / 4);
    const flat = (name: string, of: (sample: Sample) => number, unit: string, note: string): BenchRow => {
      const measured = median(quarter(4).map(of));
      const limit = median(quarter(2).map(of));
      return { name, measured, limit, unit, ratio: measured / limit, aim: FLAT, direction: 'at most', note };
    };
    return [
      flat(
        `${MINUTES} minutes of everything at once, resident in the last quarter against the second`,
        ({ resident }) => resident,
        'MiB',
        `${counts.messages} messages, ${counts.answers} answers, ${counts.pages} pages that listened, ${counts.devices} devices that came and went, ${counts.backups} backups; peak ${peak.toFixed(0)} MiB`,
      ),
      flat('the same, open file handles', ({ handles }) => handles, 'handles', `${samples.length} samples`),
      {
        name: 'the same, readings kept of those that were acknowledged',
        measured: kept,
        limit: counts.readings,
        unit: 'readings',
        ratio: kept / counts.readings,
        aim: 1,
        direction: 'at least',
      },
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

interface Counts {
  messages: number;
  /** different ones, acknowledged */
  readings: number;
  answers: number;
  pages: number;
  devices: number;
  backups: number;
}

async function everything(folder: string): Promise<{ samples: Sample[]; counts: Counts; peak: number }> {
  const running = await start(folder, { COOMB_BACKUP_FOLDER: join(folder, 'backups') });
  const counts: Counts = { messages: 0, readings: 0, answers: 0, pages: 0, devices: 0, backups: 0 };
  const samples: Sample[] = [];
  const began = performance.now();
  const length = MINUTES * MINUTE_MS;
  const ends = began + length;
  const share = (): number => (performance.now() - began) / length;
  /** Does `work` again and again until the end, `every` ms from one beginning to the next. */
  const keepOn = async (every: number, work: (n: number) => Promise<void>): Promise<void> => {
    for (let n = 0; share() < 1; n++) {
      const next = performance.now() + every;
      await work(n);
      await pause(Math.max(0, Math.min(next, ends) - performance.now()));
    }
  };
  const sender = await mqtt.connectAsync(running.broker);
  try {
    await Promise.all([
      keepOn(1000 / RATE, (n) => send(sender, n, counts)),
      keepOn(2000, (n) => comeAndGo(running, n, counts)),
      keepOn(500, (n) => visit(running, n, counts)),
      keepOn(1000, (n) => listenAwhile(running, n, counts)),
      keepOn(10 * MINUTE_MS, () => backUp(running, counts)),
      keepOn(SAMPLE_MS, async () => {
        samples.push({ share: share(), resident: running.resident(), handles: running.handles() });
      }),
    ]);
    return { samples, counts, peak: running.peak() };
  } finally {
    await sender.endAsync(true);
    await running.stop();
  }
}

const homeOf = (n: number): string => `home-${n % HOMES}`;
const at = (running: Running, path: string): string => `${running.address}/api/v1${path}`;

/** A message; one in ten once more, one in fifty against what was said before, one in fifty that nobody can read. */
async function send(client: MqttClient, n: number, counts: Counts): Promise<void> {
  const sensor = Math.floor(n / HOMES) % SENSORS;
  const time = Date.now();
  const { temperature, humidity } = valuesAt(time, sensor, false);
  const topic = `coomb/${homeOf(n)}/sensor-${sensor}`;
  const said = (temperature_c: number): string => JSON.stringify({ time, temperature_c, humidity_pct: humidity });
  const payloads = [said(temperature)];
  if (n % 10 === 1) payloads.push(said(temperature));
  if (n % 50 === 2) payloads.push(said(temperature + 1));
  if (n % 50 === 3) payloads.push('{"temperature_c": "warm"');
  for (const payload of payloads) await client.publishAsync(topic, payload, { qos: 1 });
  counts.messages += payloads.length;
  counts.readings += 2;
}

async function comeAndGo(running: Running, n: number, counts: Counts): Promise<void> {
  const device = await mqtt.connectAsync(running.broker, { clientId: `comes-and-goes-${n}`, reconnectPeriod: 0 });
  // half of them are cut off
  if (n % 2 === 0) device.stream.destroy();
  await device.endAsync(true);
  counts.devices += 1;
}

const looks = ['/now', '/tonight', '/places', '/sensors', '/sensor-findings', '/notices', '/diary', '/conflicts'];

async function visit(running: Running, n: number, counts: Counts): Promise<void> {
  const paths = [`/dwellings/${homeOf(n)}${looks[n % looks.length]}`, '/dwellings', '/quarantine'];
  const response = await fetch(at(running, paths[n % 11 === 0 ? 1 : n % 13 === 0 ? 2 : 0]!));
  if (!response.ok) throw new Error(`${response.url} answered ${response.status}`);
  await response.arrayBuffer();
  counts.answers += 1;
}

async function listenAwhile(running: Running, n: number, counts: Counts): Promise<void> {
  const leaving = new AbortController();
  const heard = new Promise<void>((resolve) => {
    listen(at(running, `/dwellings/${homeOf(n)}/live`), leaving.signal, () => resolve());
  });
  await Promise.race([heard, pause(4000)]);
  leaving.abort();
  counts.pages += 1;
}

async function backUp(running: Running, counts: Counts): Promise<void> {
  const response = await fetch(at(running, '/backups'), { method: 'POST', headers: { origin: running.address } });
  if (!response.ok) throw new Error(`a backup was answered with ${response.status}: ${await response.text()}`);
  counts.backups += 1;
}

/** Readings of all homes that lie in the database. */
async function readingsKept(folder: string): Promise<number> {
  const store = await openSqliteStore(join(folder, 'coomb.db'));
  try {
    let kept = 0;
    for (const { id } of await store.dwellings()) kept += await store.countReadings(id);
    return kept;
  } finally {
    await store.close();
  }
}
