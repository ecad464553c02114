import type { ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { openPostgresStore } from '../../server/store/postgres.ts';
import { connectTo, ended, type Mosquitto, mosquittoIsHere, run, startMosquitto } from '../ingest/processes.ts';
import { dwellingCalled, givenWatchedPlace } from '../store/contract/given.ts';
import { programs, startServer, type TestServer } from '../store/postgres-server.ts';

const cli = fileURLToPath(new URL('../../server/cli.ts', import.meta.url));
const START = Date.UTC(2026, 0, 5);
const LONG_MS = 120_000;

interface Program {
  readonly address: string;
  /** figures of `/metrics` by name */
  figures(): Promise<Map<string, number>>;
  /** as if the power had failed */
  kill(): Promise<void>;
  /** as systemd stops it */
  stop(): Promise<void>;
}

describe.skipIf(programs === null || !mosquittoIsHere)('several processes on one database and one broker', () => {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-several-'));
  const children = new Set<ChildProcess>();
  let server: TestServer;
  let database: string;
  let broker: Mosquitto;
  let device: MqttClient;

  /** The program as a user starts it, with an own data folder and session at the broker. */
  async function start(name: string, duties: string): Promise<Program> {
    const child = run(process.execPath, ['--import', 'tsx', cli, 'start'], {
      PATH: process.env.PATH,
      COOMB_DATA: join(folder, name),
      COOMB_DATABASE_URL: database,
      COOMB_HTTP_PORT: '0',
      COOMB_MQTT_URL: `mqtt://127.0.0.1:${broker.port}`,
      COOMB_MQTT_CLIENT_ID: name,
      COOMB_INGEST_GROUP: 'attics',
      COOMB_DUTIES: duties,
      COOMB_LOG_LEVEL: 'warn',
    });
    children.add(child);
    let said = '';
    const address = await new Promise<string>((resolve, reject) => {
      const hear = (piece: Buffer): void => {
        said += piece.toString('utf8');
        const found = /Open (\S+)/.exec(said);
        if (found !== null) resolve(found[1]!);
      };
      child.stdout!.on('data', hear);
      child.stderr!.on('data', hear);
      child.once('exit', (code) => reject(new Error(`${name} ended with ${code}: ${said}`)));
    });
    await vi.waitFor(async () => expect((await fetch(`${address}/healthz`)).status).toBe(200), {
      timeout: LONG_MS,
      interval: 100,
    });
    return {
      address,
      async figures() {
        const text = await (await fetch(`${address}/metrics`)).text();
        return new Map(
          text.split('\n').flatMap((line) => {
            const [name, value] = line.split(' ');
            return line.startsWith('#') || value === undefined ? [] : [[name!, Number(value)] as const];
          }),
        );
      },
      async kill() {
        children.delete(child);
        child.kill('SIGKILL');
        await ended(child);
      },
      async stop() {
        children.delete(child);
        child.kill('SIGTERM');
        await ended(child);
        expect(child.exitCode, said).toBe(0);
      },
    };
  }

  /** Reading number `n`: an instant of its own, on one of a few sensors of one of a few homes. */
  const publish = (n: number): Promise<unknown> =>
    device.publishAsync(
      `coomb/home-${n % 3}/s${n % 7}`,
      JSON.stringify({ time: START + n * 1000, temperature_c: 20 + (n % 5) / 10 }),
      { qos: 1 },
    );

  const count = async (table: string): Promise<number> =>
    Number((await server.query<{ n: string }>(`SELECT count(*) AS n FROM ${table}`, name))[0]!.n);
  const name = 'several';

  /** Events of a dwelling as an open page hears them. */
  async function listenTo(address: string, slug: string): Promise<{ heard: string[]; close(): void }> {
    const abort = new AbortController();
    const response = await fetch(`${address}/api/v1/dwellings/${slug}/live`, { signal: abort.signal });
    const heard: string[] = [];
    let text = '';
    const read = async (): Promise<void> => {
      for await (const piece of response.body!) {
        text += Buffer.from(piece).toString('utf8');
        const parts = text.split('\n\n');
        text = parts.pop()!;
        heard.push(...parts);
      }
    };
    read().catch(() => undefined);
    return { heard, close: () => abort.abort() };
  }

  let page: Program;
  let first: Program;
  let second: Program;
  beforeAll(async () => {
    [server, broker] = await Promise.all([
      startServer(),
      startMosquitto('allow_anonymous true', 'max_queued_messages 0'),
    ]);
    await server.query(`CREATE DATABASE ${name}`);
    database = server.url(name);
    device = await connectTo(broker.port);
    page = await start('page', 'pages');
    [first, second] = await Promise.all([start('first', 'readings,upkeep'), start('second', 'readings,upkeep')]);
    for (const k of [0, 1, 2]) {
      const response = await fetch(`${page.address}/api/v1/dwellings`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify(dwellingCalled(`home-${k}`)),
      });
      expect(response.status).toBe(201);
    }
    const store = await openPostgresStore({ url: database });
    for (const home of await store.dwellings()) {
      for (const k of [0, 1, 2, 3, 4, 5, 6]) await givenWatchedPlace(store, home, 'room-air', `s${k}`);
    }
    await store.close();
  }, LONG_MS);
  afterAll(async () => {
    await device?.endAsync(true);
    for (const child of children) child.kill('SIGKILL');
    await Promise.all([...children].map(ended));
    await broker?.stop();
    await server?.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  let sent = 0;

  test('share the readings out, each stored once, and a page at another process hears of them and of their hours', {
    timeout: LONG_MS,
  }, async () => {
    const { heard, close } = await listenTo(page.address, 'home-1');
    const from = sent;
    sent += 600;
    await Promise.all(Array.from({ length: 600 }, (_, k) => publish(from + k)));
    await vi.waitFor(async () => expect(await count('reading')).toBe(sent), { timeout: LONG_MS, interval: 100 });
    const taken = () =>
      Promise.all([first, second].map(async (one) => (await one.figures()).get('coomb_readings_total')!));
    // each counts what it stored once the database has told it so
    await vi.waitFor(async () => expect((await taken()).reduce((a, b) => a + b)).toBe(600), {
      timeout: LONG_MS,
      interval: 100,
    });
    for (const each of await taken()) expect(each).toBeGreaterThan(150);
    expect((await page.figures()).get('coomb_readings_total')).toBe(0);

    const event = { sensorKey: `s${1 % 7}`, quantity: 'temperature', time: new Date(START + 1000).toISOString() };
    await vi.waitFor(
      () => {
        const readings = heard.filter((one) => one.startsWith('event: reading'));
        expect(readings).toHaveLength(200);
        const mine = readings.map((one) => JSON.parse(one.split('data: ')[1]!));
        expect(mine).toContainEqual({ ...event, time: expect.stringContaining('2026-01-05T00:00:01'), value: 20.1 });
      },
      { timeout: LONG_MS, interval: 100 },
    );
    await vi.waitFor(async () => expect(await count('stale_hour')).toBe(0), { timeout: LONG_MS, interval: 100 });
    const rebuilds = await Promise.all([first, second, page].map((one) => one.figures()));
    expect(rebuilds[2]!.get('coomb_hour_rebuilds_total')).toBe(0);
    await vi.waitFor(() => expect(heard.some((one) => one.startsWith('event: hours'))).toBe(true), {
      timeout: LONG_MS,
    });
    close();
  });

  test('go on when one is killed, and when it is back nothing that was acknowledged is lost or there twice', {
    timeout: 2 * LONG_MS,
  }, async () => {
    const acknowledged = new Set<number>();
    const lane = async (until: () => boolean): Promise<void> => {
      while (!until()) {
        const n = sent++;
        await publish(n);
        acknowledged.add(n);
        await new Promise((resolve) => setTimeout(resolve, 20));
      }
    };
    const before = await count('reading');
    let over = false;
    const publishing = Promise.all(Array.from({ length: 10 }, () => lane(() => over)));
    await vi.waitFor(() => expect(acknowledged.size).toBeGreaterThan(300), { timeout: LONG_MS });
    await first.kill();
    const atDeath = await count('reading');
    await vi.waitFor(async () => expect(await count('reading')).toBeGreaterThan(atDeath + 200), {
      timeout: LONG_MS,
      interval: 100,
    });
    over = true;
    await publishing;
    // the broker keeps for it what it had given to it, and goes on giving
    first = await start('first', 'readings,upkeep');
    await vi.waitFor(async () => expect(await count('reading')).toBe(before + acknowledged.size), {
      timeout: LONG_MS,
      interval: 100,
    });
    const rows = await server.query<{ time: string }>('SELECT time FROM reading', name);
    const kept = new Set(rows.map(({ time }) => (Number(time) - START) / 1000));
    expect([...acknowledged].filter((n) => !kept.has(n))).toEqual([]);
    expect(kept.size).toBe(rows.length);
    expect([await count('conflict'), await count('quarantine')]).toEqual([0, 0]);
    // hours too, whoever was at them
    await vi.waitFor(async () => expect(await count('stale_hour')).toBe(0), { timeout: LONG_MS, interval: 100 });
    const counted = await server.query<{ n: string }>('SELECT sum(temperature_count) AS n FROM hour_record', name);
    expect(Number(counted[0]!.n)).toBe(rows.length);
  });

  test('go on when one is stopped: the others get its share at once, and only the last one has the broker keep what comes', {
    timeout: 2 * LONG_MS,
  }, async () => {
    let acknowledged = 0;
    const lane = async (until: () => boolean): Promise<void> => {
      while (!until()) {
        await publish(sent++);
        acknowledged++;
        await new Promise((resolve) => setTimeout(resolve, 20));
      }
    };
    const stored = (n: number) =>
      vi.waitFor(async () => expect(await count('reading')).toBe(n), { timeout: LONG_MS, interval: 100 });
    const before = await count('reading');
    let over = false;
    const publishing = Promise.all(Array.from({ length: 10 }, () => lane(() => over)));
    await vi.waitFor(() => expect(acknowledged).toBeGreaterThan(300), { timeout: LONG_MS });
    await first.stop();
    const then = acknowledged;
    await vi.waitFor(() => expect(acknowledged).toBeGreaterThan(then + 300), { timeout: LONG_MS });
    over = true;
    await publishing;
    // nothing waits for the one that is away: all of it is stored without it
    await stored(before + acknowledged);

    await second.stop();
    await Promise.all(Array.from({ length: 60 }, () => publish(sent++)));
    expect(await count('reading')).toBe(before + acknowledged);
    second = await start('second', 'readings,upkeep');
    await stored(before + acknowledged + 60);

    first = await start('first', 'readings,upkeep');
    await Promise.all(Array.from({ length: 100 }, () => publish(sent++)));
    await stored(before + acknowledged + 160);
    for (const one of [first, second]) {
      expect((await one.figures()).get('coomb_readings_total')).toBeGreaterThan(20);
    }
    expect([await count('conflict'), await count('quarantine')]).toEqual([0, 0]);
  });

  test('that are stopped all at once leave one of them for whom the broker keeps what comes', {
    timeout: 2 * LONG_MS,
  }, async () => {
    const before = await count('reading');
    await Promise.all([first.stop(), second.stop()]);
    await Promise.all(Array.from({ length: 60 }, () => publish(sent++)));
    expect(await count('reading')).toBe(before);
    [first, second] = await Promise.all([start('first', 'readings,upkeep'), start('second', 'readings,upkeep')]);
    await vi.waitFor(async () => expect(await count('reading')).toBe(before + 60), { timeout: LONG_MS, interval: 100 });
  });

  test('say on the broker how homes are, and close every page once somebody has a passphrase', {
    timeout: LONG_MS,
  }, async () => {
    const states = new Set<string>();
    const listener = await connectTo(broker.port);
    listener.on('message', (topic, payload) => {
      if (payload.length > 0) states.add(topic.split('/')[1]!);
    });
    await listener.subscribeAsync('coomb-state/#');
    await vi.waitFor(() => expect([...states]).toEqual(expect.arrayContaining(['home-0', 'home-1', 'home-2'])), {
      timeout: LONG_MS,
    });
    await listener.endAsync(true);

    const other = await start('other-page', 'pages');
    const ask = async (at: Program): Promise<number> => (await fetch(`${at.address}/api/v1/dwellings`)).status;
    expect(await ask(other)).toBe(200);
    const response = await fetch(`${page.address}/api/v1/access/first-passphrase`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ name: 'Maud', passphrase: 'slow otters mend slates' }),
    });
    expect(response.status).toBe(200);
    await vi.waitFor(async () => expect(await ask(other)).toBe(401), { timeout: LONG_MS, interval: 50 });
    expect((await fetch(`${second.address}/api/v1/dwellings`)).status).toBe(404);
  });
});
