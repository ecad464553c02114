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
import { subscriberOptions, subscribeTo } from '../../server/ingest/mqtt.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { mosquittoIsHere, startMosquitto } from '../ingest/processes.ts';
import type { BenchRow } from './row.ts';

const MESSAGES = 100_000;
const CONNECTIONS = 10;
const RUNS = 3;
const TOPICS = 'coomb/#';

/** Seconds from the word to begin until `finished`, for a load from another process. */
async function timed(port: number, finished: () => Promise<void>): Promise<number> {
  const script = fileURLToPath(new URL('./publish-load.ts', import.meta.url));
  const args = ['--import', 'tsx', script, String(port), String(MESSAGES), String(CONNECTIONS)];
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
  await finished();
  return (performance.now() - start) / 1000;
}

/** A fresh database and the durable path into it; gives what `work` gives, once every reading is found on disk. */
async function durably<T>(
  work: (writer: Writer, receiver: ReturnType<typeof createReceiver>) => Promise<T>,
): Promise<T> {
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
  try {
    const result = await work(writer, createReceiver(store, writer, Date.now));
    const kept = await store.countReadings(id);
    if (kept !== 2 * MESSAGES) throw new Error(`${kept} readings are on disk; ${2 * MESSAGES} were acknowledged`);
    return result;
  } finally {
    await writer.close();
    await store.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

const embeddedDurable = (): Promise<number> =>
  durably(async (_writer, receiver) => {
    const broker = await openBroker(receiver, { ...brokerOptions, port: 0 });
    const seconds = await timed(broker.port, async () => {});
    await broker.close();
    return seconds;
  });

async function embeddedDiscarding(): Promise<number> {
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
  const seconds = await timed((server.address() as AddressInfo).port, () => until(() => heard === MESSAGES));
  await new Promise<void>((resolve) => aedes.close(resolve));
  await new Promise((resolve) => server.close(resolve));
  return seconds;
}

const mosquittoLines = ['allow_anonymous true', 'max_queued_messages 0', 'max_inflight_messages 1000'];

const mosquittoDurable = (port: number): Promise<number> =>
  durably(async (writer, receiver) => {
    const url = `mqtt://127.0.0.1:${port}`;
    const subscriber = subscribeTo(
      receiver,
      { ...subscriberOptions, url, clientId: 'durable', sessionSeconds: 0 },
      Date.now,
    );
    await until(() => subscriber.state().connected);
    const seconds = await timed(port, () => until(() => writer.state().committedMessages === MESSAGES));
    await subscriber.close();
    return seconds;
  });

async function mosquittoDiscarding(port: number): Promise<number> {
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, {
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
  const seconds = await timed(port, () => until(() => heard === MESSAGES));
  await client.endAsync();
  return seconds;
}

async function until(condition: () => boolean): Promise<void> {
  while (!condition()) await new Promise((resolve) => setTimeout(resolve, 1));
}

/** Best of a few turns of each, taken by turns, so that what else the machine does weighs on both. */
async function compare(
  name: string,
  durable: () => Promise<number>,
  discarding: () => Promise<number>,
  aim: number,
): Promise<BenchRow> {
  let measured = 0;
  let limit = 0;
  for (let run = 0; run < RUNS; run++) {
    limit = Math.max(limit, MESSAGES / (await discarding()));
    measured = Math.max(measured, MESSAGES / (await durable()));
  }
  return { name, measured, limit, unit: 'messages/s', ratio: measured / limit, aim, direction: 'at least' };
}

/** Messages of two readings at QoS 1 until they are on disk, against the same broker with a subscriber that discards. */
export async function benchIngest(): Promise<BenchRow[]> {
  const rows = [await compare('embedded broker, QoS 1 to durable readings', embeddedDurable, embeddedDiscarding, 0.8)];
  if (!mosquittoIsHere) return rows;
  const mosquitto = await startMosquitto(...mosquittoLines);
  try {
    const { port } = mosquitto;
    rows.push(
      await compare(
        'Mosquitto, QoS 1 to durable readings',
        () => mosquittoDurable(port),
        () => mosquittoDiscarding(port),
        0.7,
      ),
    );
  } finally {
    await mosquitto.stop();
  }
  return rows;
}
