import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import Database from 'better-sqlite3';
import mqtt, { type MqttClient } from 'mqtt';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { everyReading } from '../ingest/home.ts';
import { freePort, startMosquitto } from '../ingest/processes.ts';
import { newDataFolder, type Program, type ProgramOptions, startProgram } from './program.ts';

/**
 * Who is killed: the program that is its own broker, the program behind Mosquitto, that Mosquitto while the program
 * listens to it, or at any moment. At any moment Mosquitto itself may lose some: it acknowledges before it writes down, and
 * while the program is away nobody else has heard them.
 */
export type Victim =
  | 'program-with-its-broker'
  | 'program-behind-mosquitto'
  | 'mosquitto-while-heard'
  | 'mosquitto-at-any-moment';

export interface KillOptions {
  readonly victim: Victim;
  readonly kills: number;
  readonly from: ProgramOptions['from'];
  /** UTC ms of the first reading */
  readonly start: number;
}

/** What came of it. Everything that was published is acknowledged in the end: devices keep at it. */
export interface KillOutcome {
  readonly kills: number;
  readonly published: number;
  readonly acknowledged: number;
  /** acknowledged to the device and not in the database, or there with another value */
  readonly lost: number;
  /** in the database more often than once, or set aside */
  readonly doubled: number;
  /** what the engine's full check says of the file */
  readonly integrity: string;
}

const DEVICES = 5;
const LANES = 8;
/** Between two readings of a lane, ms. */
const LANE_PAUSE_MS = 15;
/** The same to a Mosquitto that is killed: it must be able to hand on at once what it acknowledges. */
const GENTLE_PAUSE_MS = 150;
/** From one reading to the next, as it was measured, ms: an hour of readings is no more than a busy home has. */
const APART_MS = 1000;
/** A moment within this after it serves, or within the time that starting takes, ms. */
const ALIVE_MS = 700;
/** What was published while nobody listened has been handed over within this, ms. */
const CATCHING_UP_MS = 100;
/** Every third kill falls into its start. */
const WHILE_STARTING = 1 / 3;
const PATIENCE_MS = 120_000;

/** How Mosquitto is told to keep what nobody has taken yet: it writes that down once a second. */
const durableMosquitto = [
  'allow_anonymous true',
  'max_queued_messages 0',
  'max_inflight_messages 1000',
  'persistence true',
  'autosave_interval 1',
];

const temperatureOf = (n: number): number => (n % 400) / 10;

/** Devices that publish numbered readings at QoS 1, each under a session of its own, and send again what was not acknowledged. */
function publishAlways(port: number, start: number, pauseMs: number) {
  const acknowledged = new Set<number>();
  let published = 0;
  let stopping = false;
  const clients = Array.from({ length: DEVICES }, (_, k) => {
    const client = mqtt.connect(`mqtt://127.0.0.1:${port}`, {
      clientId: `device-${k}`,
      clean: false,
      protocolVersion: 4,
      reconnectPeriod: 50,
      connectTimeout: 2000,
    });
    client.on('error', () => {});
    return client;
  });
  const lane = async (client: MqttClient): Promise<void> => {
    while (!stopping) {
      const n = published++;
      const text = JSON.stringify({ time: start + n * APART_MS, temperature_c: temperatureOf(n) });
      for (let sent = false; !sent; ) {
        try {
          await client.publishAsync(`coomb/gable-cottage/s${n % 7}`, text, { qos: 1 });
          sent = true;
        } catch {
          // the connection broke while the client was sending again what was left over
          await pause(pauseMs);
        }
      }
      acknowledged.add(n);
      await pause(pauseMs);
    }
  };
  const lanes = Promise.all(clients.flatMap((client) => Array.from({ length: LANES }, () => lane(client))));
  return {
    acknowledged,
    published: () => published,
    /** Publishes nothing new, and resolves when all that was published is acknowledged. */
    async finish(): Promise<void> {
      stopping = true;
      await within(lanes, 'devices are still without their acknowledgement');
      await Promise.all(clients.map((client) => client.endAsync(true)));
    },
  };
}

async function within<T>(work: Promise<T>, otherwise: string): Promise<T> {
  const abort = new AbortController();
  const late = pause(PATIENCE_MS, undefined, { signal: abort.signal }).then(() => {
    throw new Error(`after ${PATIENCE_MS / 1000} s ${otherwise}`);
  });
  late.catch(() => undefined);
  try {
    return await Promise.race([work, late]);
  } finally {
    abort.abort();
  }
}

/**
 * Kills one part with SIGKILL at random moments, its start among them, under a load of QoS 1 readings, starts it again
 * every time, and counts in the end what is in the database.
 */
export async function killAgain({ victim, kills, from, start }: KillOptions): Promise<KillOutcome> {
  const data = await newDataFolder();
  const mosquitto = victim === 'program-with-its-broker' ? null : await startMosquitto(...durableMosquitto);
  const port = mosquitto?.port ?? (await freePort());
  const settings: Record<string, string> =
    mosquitto === null ? { COOMB_MQTT_PORT: String(port) } : { COOMB_MQTT_URL: `mqtt://127.0.0.1:${port}` };
  const begin = (): Program => startProgram({ dataFolder: data.folder, from, settings });
  let program = begin();
  try {
    await program.address;
    // the session of the program is there, on disk too, before anything is published
    if (mosquitto !== null) {
      await listensAgain(program, 1);
      await mosquitto.save();
    }
    const gently = victim === 'mosquitto-while-heard' || victim === 'mosquitto-at-any-moment';
    const devices = publishAlways(port, start, gently ? GENTLE_PAUSE_MS : LANE_PAUSE_MS);
    let startMs = 1000;
    for (let kill = 0; kill < kills; kill++) {
      const inStart = Math.random() < WHILE_STARTING;
      if (mosquitto !== null && gently) {
        if (victim === 'mosquitto-while-heard') {
          await listensAgain(program, kill + 1);
          await pause(CATCHING_UP_MS);
        }
        await pause(Math.random() * ALIVE_MS);
        await mosquitto.kill();
        await mosquitto.start();
      } else {
        const began = performance.now();
        if (inStart) await pause(Math.random() * startMs);
        else {
          await program.address;
          startMs = Math.max(200, performance.now() - began);
          await pause(Math.random() * ALIVE_MS);
        }
        await program.kill();
        program = begin();
      }
    }
    await program.address;
    await devices.finish();
    const outcome = await settle(join(data.folder, 'coomb.db'), devices.acknowledged, start);
    const code = await program.stop();
    if (code !== 0) throw new Error(`coomb ended with ${code} when it was asked to stop`);
    return {
      kills,
      published: devices.published(),
      acknowledged: devices.acknowledged.size,
      ...outcome,
    };
  } finally {
    await program.kill();
    await mosquitto?.stop();
    data.remove();
  }
}

/** Waits until the program has said so often that it listens to the broker. */
async function listensAgain(program: Program, times: number): Promise<void> {
  const said = (): number => program.log.join('').split('connected to the broker').length - 1;
  for (let waited = 0; said() < times; waited += 10) {
    if (waited > PATIENCE_MS) throw new Error(`coomb does not find the broker: ${program.log.join('\n')}`);
    await pause(10);
  }
}

/** Waits until the database holds everything, or nothing more has come for a while; then counts. */
async function settle(
  path: string,
  acknowledged: ReadonlySet<number>,
  start: number,
): Promise<Pick<KillOutcome, 'lost' | 'doubled' | 'integrity'>> {
  const store = await openSqliteStore(path);
  try {
    const { id } = (await store.dwellings())[0]!;
    let count = -1;
    for (let quiet = 0; quiet < 40; quiet++) {
      const now = await store.countReadings(id);
      if (now >= acknowledged.size) break;
      if (now !== count) quiet = 0;
      count = now;
      await pause(250);
    }
    const rows = await everyReading(store, id);
    const found = new Map<number, number>();
    for (const [, , time, value] of rows) found.set((time - start) / APART_MS, value);
    const conflicts = await store.conflicts(id, 1000);
    return {
      lost: [...acknowledged].filter((n) => found.get(n) !== temperatureOf(n)).length,
      doubled: rows.length - found.size + conflicts.length + (await store.countQuarantined()),
      integrity: integrityOf(path),
    };
  } finally {
    await store.close();
  }
}

function integrityOf(path: string): string {
  const db = new Database(path, { readonly: true });
  try {
    return String(db.pragma('integrity_check', { simple: true }));
  } finally {
    db.close();
  }
}
