import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { Aedes } from 'aedes';
import mqtt from 'mqtt';
import { brokerOptions, openBroker } from '../../server/ingest/broker.ts';
import { withOutdoorForecasts } from '../../server/ingest/forecast-receiver.ts';
import { subscriberOptions, subscribeTo } from '../../server/ingest/mqtt.ts';
import { createReceiver, type Intake } from '../../server/ingest/receiver.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { mosquittoIsHere, startMosquitto } from '../ingest/processes.ts';
import type { BenchRow } from './row.ts';

const MESSAGES = 100_000;
const CONNECTIONS = 10;
const TURNS = 5;
const FIRST = Date.UTC(2025, 10, 1);
const DAY_MS = 86_400_000;
const TOPICS = 'coomb/#';

/** What takes a load again and again. */
interface Taker {
  readonly port: number;
  /** Resolves when the messages of so many turns are where they should be. */
  took(turns: number): Promise<void>;
  close(): Promise<void>;
}

/** Messages a second of one turn, of a load from another process. */
async function rateOf({ port, took }: Taker, turn: number): Promise<number> {
  const script = fileURLToPath(new URL('./publish-load.ts', import.meta.url));
  const args = ['--import', 'tsx', script, ...[port, MESSAGES, CONNECTIONS, FIRST + turn * DAY_MS].map(String)];
  const load = spawn(process.execPath, args, { stdio: ['pipe', 'pipe', 'inherit'] });
  const lines = createInterface({ input: load.stdout });
  const heard = (word: string): Promise<void> =>
    new Promise((resolve, reject) => {
      lines.on('line', (line) => {
        if (line === word) resolve();
      });
      load.once('exit', (code) => reject(new Error(`the load ended with ${code}`)));
    });
  const done = heard('done');
  await heard('ready');
  const start = performance.now();
  load.stdin.write('go\n');
  await done;
  await took(turn + 1);
  return (MESSAGES / (performance.now() - start)) * 1000;
}

/** A fresh database and the durable path into it. When it is closed, every reading must be found on disk. */
async function durable(open: (writer: Writer, receiver: Intake) => Promise<Taker>): Promise<Taker> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-ingest-'));
  const store = await openSqliteStore(join(folder, 'coomb.db'));
  const section = {
    pitchDeg: 40,
    slopeLengthMm: 1800,
    roomHeightMm: 2300,
    liningThicknessMm: 60,
    loftInsulationMm: 200,
    eavesGapMm: 50,
  };
  const { id } = await store.addDwelling({ slug: 'bench', name: 'bench', zone: 'Europe/London', section });
  const writer = createWriter(store);
  const receiver = withOutdoorForecasts(createReceiver(store, writer, Date.now), store, writer, Date.now, () => {});
  const taker = await open(writer, receiver);
  return {
    ...taker,
    async close() {
      await taker.close();
      await writer.close();
      const kept = await store.countReadings(id);
      await store.close();
      rmSync(folder, { recursive: true, force: true });
      const sent = 2 * MESSAGES * TURNS;
      if (kept !== sent) throw new Error(`${kept} readings are on disk; ${sent} were acknowledged`);
    },
  };
}

const embeddedDurable = (): Promise<Taker> =>
  durable(async (_writer, receiver) => {
    const broker = await openBroker(receiver, { ...brokerOptions, port: 0 });
    return { port: broker.port, took: async () => {}, close: () => broker.close() };
  });

async function embeddedDiscarding(): Promise<Taker> {
  const aedes = await Aedes.createBroker({ queueLimit: 1000 });
  let heard = 0;
  await new Promise<void>((resolve) =>
    aedes.subscribe(
      TOPICS,
      (_packet, done) => {
        heard++;
        done();
      },
      resolve,
    ),
  );
  const server = createServer(aedes.handle);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    took: (turns) => until(() => heard === turns * MESSAGES),
    async close() {
      await new Promise<void>((resolve) => aedes.close(resolve));
      await new Promise((resolve) => server.close(resolve));
    },
  };
}

const startBroker = () => startMosquitto('allow_anonymous true', 'max_queued_messages 0', 'max_inflight_messages 1000');

const mosquittoDurable = (): Promise<Taker> =>
  durable(async (writer, receiver) => {
    const broker = await startBroker();
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const subscriber = subscribeTo(
      receiver,
      { ...subscriberOptions, url, clientId: 'durable', sessionSeconds: 0 },
      Date.now,
    );
    await until(() => subscriber.state().connected);
    return {
      port: broker.port,
      took: (turns) => until(() => writer.state().committedMessages === turns * MESSAGES),
      async close() {
        await subscriber.close();
        await broker.stop();
      },
    };
  });

async function mosquittoDiscarding(): Promise<Taker> {
  const broker = await startBroker();
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`, {
    clientId: 'discarding',
    clean: false,
    protocolVersion: 5,
    properties: { sessionExpiryInterval: 0, receiveMaximum: subscriberOptions.inFlight },
  });
  let heard = 0;
  client.on('message', () => {
    heard++;
  });
  await client.subscribeAsync(TOPICS, { qos: 1 });
  return {
    port: broker.port,
    took: (turns) => until(() => heard === turns * MESSAGES),
    async close() {
      await client.endAsync();
      await broker.stop();
    },
  };
}

async function until(condition: () => boolean): Promise<void> {
  while (!condition()) await new Promise((resolve) => setTimeout(resolve, 1));
}

/** Best of a few turns of each, taken by turns, so that what else the machine does weighs on both. */
async function compare(
  name: string,
  openDurable: () => Promise<Taker>,
  openDiscarding: () => Promise<Taker>,
  aim: number,
): Promise<BenchRow> {
  const stored = await openDurable();
  const discarded = await openDiscarding();
  let measured = 0;
  let limit = 0;
  for (let turn = 0; turn < TURNS; turn++) {
    limit = Math.max(limit, await rateOf(discarded, turn));
    measured = Math.max(measured, await rateOf(stored, turn));
  }
  await discarded.close();
  await stored.close();
  return { name, measured, limit, unit: 'messages/s', ratio: measured / limit, aim, direction: 'at least' };
}

/** Messages of two readings at QoS 1 until they are on disk, against the same broker with a subscriber that discards. */
export async function benchIngest(): Promise<BenchRow[]> {
  const rows = [await compare('embedded broker, QoS 1 to durable readings', embeddedDurable, embeddedDiscarding, 0.8)];
  if (!mosquittoIsHere) return rows;
  rows.push(await compare('Mosquitto, QoS 1 to durable readings', mosquittoDurable, mosquittoDiscarding, 0.7));
  return rows;
}
