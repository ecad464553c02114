import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import { pino } from 'pino';
import { afterEach, describe, expect, test } from 'vitest';
import { readLatest } from '../../server/api/now.ts';
import { readConfig } from '../../server/config.ts';
import { publishRetained } from '../../server/ingest/retained.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { dayLine } from '../../server/store/canonical.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { createStateTeller } from '../../server/watch/state-teller.ts';
import { freePort, mosquittoIsHere } from '../ingest/processes.ts';
import { dwellingCalled, NEW_YEAR, section } from '../store/contract/given.ts';

const cleanups: (() => unknown)[] = [];
afterEach(async () => {
  for (const clean of cleanups.splice(0).reverse()) await clean();
});

const until = async (done: () => boolean): Promise<void> => {
  while (!done()) await new Promise((resolve) => setTimeout(resolve, 10));
};

interface Listener {
  readonly client: MqttClient;
  /** the last of each topic */
  readonly said: Map<string, { readonly payload: string; readonly retained: boolean }>;
}

async function listening(url: string, filter = 'coomb-state/#'): Promise<Listener> {
  const client = await mqtt.connectAsync(url);
  const said = new Map<string, { payload: string; retained: boolean }>();
  client.on('message', (topic, payload, { retain }) =>
    said.set(topic, { payload: payload.toString(), retained: retain }),
  );
  await client.subscribeAsync(filter, { qos: 1 });
  cleanups.push(() => client.endAsync(true));
  return { client, said };
}

async function homeOn(folder: string, environment: Record<string, string>, clock = Date.now): Promise<Coomb> {
  const config = readConfig({ COOMB_DATA: folder, COOMB_HTTP_PORT: '0', COOMB_MQTT_PORT: '0', ...environment });
  const coomb = await startCoomb(config, pino({ level: 'silent' }), clock);
  cleanups.push(() => coomb.close());
  return coomb;
}

function newFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-states-'));
  cleanups.push(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** A room of 20 °C and 60 % (dew point 12.0 °C) under a slope of 11 °C: wet. */
async function sendWetSlope({ store, address }: Coomb): Promise<void> {
  const home = await store.addDwelling({ slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section });
  for (const [key, kind] of [
    ['room', 'room-air'],
    ['slope', 'ceiling-surface'],
  ] as const) {
    const place = await store.addPlace({ dwellingId: home.id, name: `the ${key}`, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(home.id, key);
    await store.placeSensor(home.id, sensor.id, place.id, 0);
  }
  for (const [key, body] of [
    ['room', { temperature_c: 20, humidity_pct: 60 }],
    ['slope', { temperature_c: 11 }],
  ] as const) {
    const answer = await fetch(`${address}/api/v1/dwellings/larch/readings/${key}`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    expect(answer.status).toBe(200);
  }
}

async function mosquitto(port: number): Promise<void> {
  const folder = newFolder();
  const conf = join(folder, 'mosquitto.conf');
  writeFileSync(conf, `listener ${port} 127.0.0.1\nallow_anonymous true\n`);
  const child = spawn('mosquitto', ['-c', conf], { stdio: 'ignore' });
  cleanups.push(
    () =>
      new Promise((resolve) => {
        child.once('exit', resolve);
        child.kill('SIGKILL');
      }),
  );
}

describe('the state of a home on the embedded broker', () => {
  test('is retained for whoever comes, again after a restart, with the figures a switch needs', async () => {
    const folder = newFolder();
    const first = await homeOn(folder, {});
    await sendWetSlope(first);
    await first.close();
    cleanups.pop();
    const again = await homeOn(folder, {});
    const { said } = await listening(again.mqttAddress);
    await until(() => said.has('coomb-state/larch/place/2'));
    const slope = JSON.parse(said.get('coomb-state/larch/place/2')!.payload);
    expect(slope).toMatchObject({
      name: 'the slope',
      kind: 'ceiling-surface',
      state: 'condensing',
      chance_tonight: null,
    });
    // dew point of 20 °C and 60 %: 12.0 °C (Magnus form, from memory), margin -1.0 K
    expect(slope.margin_k).toBeGreaterThan(-1.1);
    expect(slope.margin_k).toBeLessThan(-0.9);
    expect(Date.parse(slope.valid_until) - Date.parse(slope.time)).toBe(30 * 60_000);
    expect(Object.keys(JSON.parse(said.get('coomb-state/larch/home')!.payload))).toEqual([
      'name',
      'time',
      'valid_until',
      'chance_tonight',
      'notices',
    ]);
    const late = await listening(again.mqttAddress);
    await until(() => late.said.has('coomb-state/larch/place/2'));
    expect(late.said.get('coomb-state/larch/place/2')!.retained).toBe(true);
  });

  test('cannot be forged by a device, and is no reading', async () => {
    const coomb = await homeOn(newFolder(), {});
    const { said } = await listening(coomb.mqttAddress);
    const device = await mqtt.connectAsync(coomb.mqttAddress, { reconnectPeriod: 0 });
    cleanups.push(() => device.endAsync(true));
    const cut = new Promise<void>((resolve) => device.once('close', () => resolve()));
    device.publish('coomb-state/larch/place/2', '{"state":"dry"}', { qos: 1, retain: true });
    await cut;
    expect(said.size).toBe(0);
    expect(await coomb.store.countQuarantined()).toBe(0);
  });
});

test('the state of an example that is removed is taken away again, and that of the home beside it stays', async () => {
  const store = await openSqliteStore(':memory:');
  cleanups.push(() => store.close());
  await store.addDwelling(dwellingCalled('larch'));
  const example = await store.addExample(dwellingCalled('rowan'));
  await store.addPlace({ dwellingId: example.id, name: 'the room', kind: 'room-air', facesPlaceId: null });
  const retained = new Map<string, string>();
  const teller = createStateTeller({
    dwellings: () => store.dwellings(),
    stateOf: async (dwelling, time) => {
      const now = await readLatest(store, dwelling, time);
      return { slug: dwelling.slug, name: dwelling.name, now, nights: [], notices: [], seal: null };
    },
    // as a broker does: an empty message takes a topic away
    publish: (topic, payload) => void (payload === '' ? retained.delete(topic) : retained.set(topic, payload)),
    clock: () => NEW_YEAR,
    takeCharge: async () => true,
    everyMs: 3_600_000,
    log: { warn: (detail) => expect(detail).toBeNull() },
  });
  cleanups.push(() => teller.close());
  await teller.tell();
  expect([...retained.keys()]).toEqual([
    'coomb-state/larch/home',
    'coomb-state/rowan/home',
    'coomb-state/rowan/place/1',
  ]);
  await store.beginRemoval(example.id);
  await teller.tell();
  expect([...retained.keys()]).toEqual(['coomb-state/larch/home']);
});

describe.skipIf(!mosquittoIsHere)('the state of a home on an external broker', () => {
  test('is retained there, is not taken for readings, and is said to be kept up no more when the program goes', async () => {
    const port = await freePort();
    await mosquitto(port);
    const url = `mqtt://127.0.0.1:${port}`;
    const folder = newFolder();
    const first = await homeOn(folder, {});
    await sendWetSlope(first);
    await first.close();
    cleanups.pop();
    const { said } = await listening(url);
    const coomb = await homeOn(folder, { COOMB_MQTT_URL: url, COOMB_MQTT_TOPICS: '#' });
    await until(() => said.has('coomb-state/larch/place/2') && said.has('coomb-state/program/coomb'));
    expect(said.get('coomb-state/program/coomb')!.payload).toBe('{"running":true}');
    expect(JSON.parse(said.get('coomb-state/larch/place/2')!.payload)).toMatchObject({ state: 'condensing' });
    const late = await listening(url);
    await until(() => late.said.has('coomb-state/larch/place/2'));
    expect(late.said.get('coomb-state/larch/place/2')!.retained).toBe(true);
    await coomb.close();
    cleanups.splice(cleanups.length - 2, 1);
    await until(() => said.get('coomb-state/program/coomb')!.payload === '{"running":false}');
    const { store } = await homeOn(folder, {});
    expect(await store.countQuarantined()).toBe(0);
  });

  test('comes with the entry of each day that was sealed, which fixes all days before it', async () => {
    const port = await freePort();
    await mosquitto(port);
    const url = `mqtt://127.0.0.1:${port}`;
    const folder = newFolder();
    const first = await homeOn(folder, {});
    await sendWetSlope(first);
    await first.close();
    cleanups.pop();
    const { said } = await listening(url);
    // at noon of the days that follow: whatever the time of day is now, the day before is over and none ends meanwhile
    const noon = Math.floor(Date.now() / 86_400_000) * 86_400_000 + 43_200_000;
    const days = [1, 2].map((days) => () => noon + days * 86_400_000);
    const entries: { day: string; previous: string; entry: string }[] = [];
    for (const clock of days) {
      said.clear();
      const coomb = await homeOn(folder, { COOMB_MQTT_URL: url }, clock);
      const sealed = async () => (await coomb.store.sealing(1))?.lastDay ?? null;
      while ((await sealed()) !== Math.floor((clock() - 900_000) / 86_400_000) - 1)
        await new Promise((r) => setTimeout(r, 20));
      const [seal] = await coomb.store.daySeals(1, (await sealed())!, Number.POSITIVE_INFINITY);
      await coomb.close();
      cleanups.pop();
      // what was sealed after the first round of telling is told at the next start at the latest
      const again = await homeOn(folder, { COOMB_MQTT_URL: url }, clock);
      await until(() => said.get('coomb-state/larch/seal')?.payload.includes(seal!.entry) === true);
      entries.push(JSON.parse(said.get('coomb-state/larch/seal')!.payload));
      // an entry is the digest of a line that names the one before, as the README of a pack says
      expect(createHash('sha256').update(dayLine(seal!)).digest('hex')).toBe(entries.at(-1)!.entry);
      await again.close();
      cleanups.pop();
    }
    expect(entries[1]!.previous).toBe(entries[0]!.entry);
  });

  test('comes back by itself, all of it, after the broker was away', async () => {
    const port = await freePort();
    const states = publishRetained({
      url: `mqtt://127.0.0.1:${port}`,
      clientId: 'c',
      statusTopic: 'coomb-state/program/c',
    });
    cleanups.push(() => states.close());
    states.publish('coomb-state/larch/home', '{"a":1}');
    states.publish('coomb-state/larch/home', '{"a":2}');
    await mosquitto(port);
    const { said } = await new Promise<Listener>((resolve) => {
      const retry = () => listening(`mqtt://127.0.0.1:${port}`).then(resolve, () => setTimeout(retry, 100));
      retry();
    });
    await until(() => said.has('coomb-state/larch/home'));
    expect(said.get('coomb-state/larch/home')!.payload).toBe('{"a":2}');
  });
});
