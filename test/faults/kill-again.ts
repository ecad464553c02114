import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import Database from 'better-sqlite3';
import mqtt from 'mqtt';
import type { Store } from '../../server/store/port.ts';
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

/** Readings go to as many sensors in turn. */
export const SENSORS = 7;
const DEVICES = 5;
const LANES = 8;
/** Between two readings of a lane, ms. */
const LANE_PAUSE_MS = 15;
/** The same to a Mosquitto that is killed: it must be able to hand on at once what it acknowledges. */
export const GENTLE_PAUSE_MS = 150;
/** From one reading to the next, as it was measured, ms: an hour of readings is no more than a busy home has. */
const APART_MS = 1000;
/** A moment within this after it serves, or within the time that starting takes, ms. */
export const ALIVE_MS = 700;
/** What was published while nobody listened has been handed over within this, ms. */
const CATCHING_UP_MS = 100;
/** Every third kill falls into its start. */
const WHILE_STARTING = 1 / 3;
export const PATIENCE_MS = 120_000;
/** A program that ends by itself, for the database is not there yet, is started again so often, after a pause, ms. */
const STARTS = 20;
const AGAIN_MS = 500;

/** How Mosquitto is told to keep what nobody has taken yet: it writes that down once a second. */
export const durableMosquitto = [
  'allow_anonymous true',
  'max_queued_messages 0',
  'max_inflight_messages 1000',
  'persistence true',
  'autosave_interval 1',
];

const temperatureOf = (n: number): number => (n % 400) / 10;

/** What a broker answers that has nobody to hand a message to (MQTT 5, 3.4.2.1). */
const FOR_NOBODY = 16;

/**
 * Devices that publish numbered readings at QoS 1, each under a session of its own, and send again what was not
 * acknowledged, or, where they speak MQTT 5, was for nobody.
 */
function publishAlways({ port, pauseMs, speaks }: Installation, start: number) {
  const acknowledged = new Set<number>();
  let published = 0;
  let stopping = false;
  const clients = Array.from({ length: DEVICES }, (_, k) => {
    const client = mqtt.connect(`mqtt://127.0.0.1:${port}`, {
      clientId: `device-${k}`,
      clean: false,
      protocolVersion: speaks,
      ...(speaks === 5 ? { properties: { sessionExpiryInterval: 3600 } } : {}),
      reconnectPeriod: 50,
      connectTimeout: 2000,
    });
    client.on('error', () => {});
    const forNobody = new Set<number>();
    client.on('packetreceive', (packet) => {
      if (packet.cmd === 'puback' && packet.reasonCode === FOR_NOBODY) forNobody.add(packet.messageId!);
    });
    return { client, forNobody };
  });
  const lane = async ({ client, forNobody }: (typeof clients)[number]): Promise<void> => {
    while (!stopping) {
      const n = published++;
      const text = JSON.stringify({ time: start + n * APART_MS, temperature_c: temperatureOf(n) });
      for (let sent = false; !sent; ) {
        try {
          const packet = await client.publishAsync(`coomb/gable-cottage/s${n % SENSORS}`, text, { qos: 1 });
          sent = !forNobody.delete((packet as { messageId: number }).messageId);
          if (!sent) await pause(pauseMs);
        } catch {
          // the connection broke while the client was sending again what was left over
          await pause(pauseMs);
        }
      }
      acknowledged.add(n);
      await pause(pauseMs);
    }
  };
  const lanes = Promise.all(clients.flatMap((device) => Array.from({ length: LANES }, () => lane(device))));
  return {
    acknowledged,
    published: () => published,
    /** Resolves once as many readings are acknowledged as there are lanes. */
    async underWay(): Promise<void> {
      while (acknowledged.size < DEVICES * LANES) await pause(10);
    },
    /** Publishes nothing new, and resolves when all that was published is acknowledged. */
    async finish(): Promise<void> {
      stopping = true;
      await within(lanes, 'devices are still without their acknowledgement');
      await Promise.all(clients.map(({ client }) => client.endAsync(true)));
    },
  };
}

export async function within<T>(work: Promise<T>, otherwise: string): Promise<T> {
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

/** What takes the readings of devices in, and of which parts are killed. */
export interface Installation {
  /** where devices publish */
  readonly port: number;
  /** MQTT 3.1.1 or 5 */
  readonly speaks: 4 | 5;
  /** between two readings of a lane, ms */
  readonly pauseMs: number;
  /** Kills a part with SIGKILL at a random moment and starts it again; of the `k`th time. */
  killOne(k: number, acknowledged: ReadonlySet<number>): Promise<void>;
  /** Resolves once every part works. */
  ready(): Promise<void>;
  /** Opens what was kept, to count it. */
  open(): Promise<Store>;
  /** What the engine's full check says, once all work is done: 'ok' or what is wrong. */
  check(readings: number): Promise<string>;
  /** Asks every part to end, in order. @throws Error when one does not */
  stop(): Promise<void>;
  /** Ends and removes what is left, however it went. */
  remove(): Promise<void>;
}

/**
 * Kills parts of an installation at random moments, their start among them, under a load of QoS 1 readings, starts them
 * again every time, and counts in the end what was kept.
 */
export async function killParts(installation: Installation, kills: number, start: number): Promise<KillOutcome> {
  try {
    const devices = publishAlways(installation, start);
    await within(devices.underWay(), 'devices are without any acknowledgement');
    for (let kill = 0; kill < kills; kill++) {
      await within(installation.killOne(kill, devices.acknowledged), 'what is to be killed does not work');
    }
    await within(installation.ready(), 'some part does not work again');
    await devices.finish();
    const outcome = await settle(installation, devices.acknowledged, start);
    await installation.stop();
    return { kills, published: devices.published(), acknowledged: devices.acknowledged.size, ...outcome };
  } finally {
    await installation.remove();
  }
}

/** Kills one part of an installation of one program. */
export const killAgain = async ({ kills, start, ...options }: KillOptions): Promise<KillOutcome> =>
  killParts(await oneProgram(options), kills, start);

async function oneProgram({ victim, from }: Pick<KillOptions, 'victim' | 'from'>): Promise<Installation> {
  const data = await newDataFolder();
  const mosquitto = victim === 'program-with-its-broker' ? null : await startMosquitto(...durableMosquitto);
  const port = mosquitto?.port ?? (await freePort());
  const settings: Record<string, string> =
    mosquitto === null ? { COOMB_MQTT_PORT: String(port) } : { COOMB_MQTT_URL: `mqtt://127.0.0.1:${port}` };
  const program = mortal(() => startProgram({ dataFolder: data.folder, from, settings }));
  const remove = async (): Promise<void> => {
    await program.current().kill();
    await mosquitto?.stop();
    data.remove();
  };
  try {
    await program.serves();
    // the session of the program is there, on disk too, before anything is published
    if (mosquitto !== null) {
      await listensAgain(program.current(), 1);
      await mosquitto.save();
    }
  } catch (error) {
    await remove();
    throw error;
  }
  const path = join(data.folder, 'coomb.db');
  const killsMosquitto = victim === 'mosquitto-while-heard' || victim === 'mosquitto-at-any-moment';
  return {
    port,
    speaks: 4,
    pauseMs: killsMosquitto ? GENTLE_PAUSE_MS : LANE_PAUSE_MS,
    async killOne(k) {
      if (!killsMosquitto || mosquitto === null) return program.killAtRandom();
      if (victim === 'mosquitto-while-heard') {
        await listensAgain(program.current(), k + 1);
        await pause(CATCHING_UP_MS);
      }
      await pause(Math.random() * ALIVE_MS);
      await mosquitto.restart();
    },
    ready: program.serves,
    open: () => openSqliteStore(path),
    check: async () => integrityOf(path),
    stop: () => stopped(program.current()),
    remove,
  };
}

export interface Mortal {
  /** the one that runs now */
  current(): Program;
  /** Resolves once it serves. One that could not start is started again, as the unit for systemd does. */
  serves(): Promise<void>;
  /** Kills it at a random moment, every third time within its start, and starts it again. */
  killAtRandom(): Promise<void>;
}

export function mortal(begin: () => Program): Mortal {
  let program = begin();
  let startMs = 1000;
  async function serves(): Promise<void> {
    for (let tries = 0; ; tries++) {
      try {
        await program.address;
        return;
      } catch (error) {
        if (tries === STARTS) throw error;
        await pause(AGAIN_MS);
        program = begin();
      }
    }
  }
  return {
    current: () => program,
    serves,
    async killAtRandom() {
      const began = performance.now();
      if (Math.random() < WHILE_STARTING) await pause(Math.random() * startMs);
      else {
        await serves();
        startMs = Math.max(200, performance.now() - began);
        await pause(Math.random() * ALIVE_MS);
      }
      await program.kill();
      program = begin();
    },
  };
}

/** Asks a program to stop. @throws Error when it does not end well */
export async function stopped(program: Program): Promise<void> {
  const code = await program.stop();
  if (code !== 0) throw new Error(`coomb ended with ${code} when it was asked to stop`);
}

/** Waits until the program has said so often that it listens to the broker. */
export async function listensAgain(program: Program, times: number): Promise<void> {
  const said = (): number => program.log.join('').split('connected to the broker').length - 1;
  for (let waited = 0; said() < times; waited += 10) {
    if (waited > PATIENCE_MS) throw new Error(`coomb does not find the broker: ${program.log.join('\n')}`);
    await pause(10);
  }
}

/** Waits until the database holds everything, or nothing more has come for a while; then counts. */
async function settle(
  installation: Installation,
  acknowledged: ReadonlySet<number>,
  start: number,
): Promise<Pick<KillOutcome, 'lost' | 'doubled' | 'integrity'>> {
  const store = await installation.open();
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
      integrity: await installation.check(rows.length),
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
