import { constants, existsSync, statfsSync, statSync } from 'node:fs';
import { access, open, rm } from 'node:fs/promises';
import { createServer } from 'node:net';
import { join, resolve } from 'node:path';
import { DateTime, IANAZone } from 'luxon';
import { connectAsync } from 'mqtt';
import { createHealthReader } from '../api/sensor-health.ts';
import type { Config } from '../config.ts';
import { EARLIEST_TIME } from '../ingest/timestamp.ts';
import { databaseFile, inspectStore, openStore } from '../main.ts';
import type { InspectionDepth } from '../store/engine.ts';
import { type Store, StoreError } from '../store/port.ts';

export type CheckArea =
  | 'settings'
  | 'data folder'
  | 'disk'
  | 'clock'
  | 'database'
  | 'page'
  | 'broker'
  | 'hour records'
  | 'quarantine'
  | 'sensors';

/** One thing looked at. unknown: it could not be checked, and the message says why. */
export interface Check {
  readonly area: CheckArea;
  readonly outcome: 'fine' | 'trouble' | 'unknown';
  readonly message: string;
  /** null where nothing needs doing */
  readonly whatToDo: string | null;
}

export const fine = (area: CheckArea, message: string): Check => ({ area, outcome: 'fine', message, whatToDo: null });
export const trouble = (area: CheckArea, message: string, whatToDo: string): Check => ({
  area,
  outcome: 'trouble',
  message,
  whatToDo,
});
export const unknown = (area: CheckArea, message: string, whatToDo: string | null = null): Check => ({
  area,
  outcome: 'unknown',
  message,
  whatToDo,
});

/** Room that two winters of readings and a rebuild need with plenty to spare, bytes. */
const ROOM_WANTED = 300 * (1 << 20);
const DAY_MS = 86_400_000;
const WEEK_MS = 7 * DAY_MS;
const ANSWER_MS = 3_000;
const CONNECT_MS = 5_000;
const TOLD = 5;

const words = (error: unknown): string => (error instanceof Error ? error.message : String(error));
const codeOf = (error: unknown): string | undefined => (error as NodeJS.ErrnoException).code;

export async function checkFolder({ dataFolder }: Config): Promise<Check> {
  const folder = resolve(dataFolder);
  if (!existsSync(folder)) {
    return unknown(
      'data folder',
      `There is no folder ${folder} yet.`,
      'Start coomb once, or set COOMB_DATA to the right folder.',
    );
  }
  if (!statSync(folder).isDirectory()) {
    return trouble('data folder', `${folder} is a file.`, 'Move it away, or set COOMB_DATA to a folder.');
  }
  const files = [folder, databaseFile({ dataFolder: folder } as Config)].filter((path) => existsSync(path));
  for (const path of files) {
    try {
      await access(path, constants.R_OK | constants.W_OK);
    } catch {
      return trouble(
        'data folder',
        `${path} cannot be read and written by this user.`,
        'Run coomb as the user who owns it, or give that user the right to read and write it (chown, chmod u+rw).',
      );
    }
    // POSIX mode bits; Windows has none of this kind and reports them as the owner's
    if (process.platform !== 'win32' && (statSync(path).mode & 0o002) !== 0) {
      return trouble(
        'data folder',
        `Every user of this machine may change ${path}.`,
        `Take that right away: chmod o-w ${path}`,
      );
    }
  }
  return fine('data folder', `${folder} can be read and written, by nobody else but its owner and group.`);
}

export async function checkDisk({ dataFolder }: Config): Promise<Check> {
  const folder = resolve(dataFolder);
  if (!existsSync(folder)) return unknown('disk', 'Without a data folder there is no disk to look at.');
  const { bavail, bsize } = statfsSync(folder);
  const free = bavail * bsize;
  const freeWords = `${(free / (1 << 30)).toFixed(1)} GiB`;
  if (free < ROOM_WANTED) {
    return trouble(
      'disk',
      `Only ${freeWords} are free.`,
      'Free some space: readings are refused when the disk is full.',
    );
  }
  const path = join(folder, `.doctor-${process.pid}`);
  const wanted = Buffer.alloc(4096, 0x5a);
  try {
    const file = await open(path, 'wx+');
    try {
      await file.write(wanted, 0, wanted.length, 0);
      await file.sync();
      const read = Buffer.alloc(wanted.length);
      await file.read(read, 0, read.length, 0);
      if (!read.equals(wanted)) throw new Error('what was read back differs from what was written');
    } finally {
      await file.close();
    }
  } catch (error) {
    return trouble(
      'disk',
      `A file could not be written and read back: ${words(error)}.`,
      'Check the disk, its connection and whether it is mounted for writing.',
    );
  } finally {
    await rm(path, { force: true }).catch(() => undefined);
  }
  return fine('disk', `A file was written and read back; ${freeWords} are free.`);
}

export function checkClock(config: Config, now: number, lastReading: number | null): Check {
  const said = new Date(now).toISOString();
  const set = 'Set the clock of this computer, and let it fetch the time (NTP).';
  if (now < EARLIEST_TIME) return trouble('clock', `The clock says ${said}: it was never set.`, set);
  const file = databaseFile(config);
  const changed = existsSync(file) ? statSync(file).mtimeMs : null;
  if (changed !== null && changed > now + DAY_MS) {
    return trouble('clock', `The clock says ${said}, but the database was changed after that.`, set);
  }
  if (lastReading !== null && lastReading > now + DAY_MS) {
    return trouble(
      'clock',
      `The clock says ${said}, but there is a reading of ${new Date(lastReading).toISOString()}.`,
      set,
    );
  }
  const summer = DateTime.fromObject({ year: 2025, month: 7 }, { zone: 'Europe/London' });
  const winter = DateTime.fromObject({ year: 2025, month: 1 }, { zone: 'Europe/London' });
  // one hour of summer time: Summer Time Act 1972 (United Kingdom)
  if (!(summer.isValid && winter.isValid && summer.offset - winter.offset === 60)) {
    return trouble('clock', 'This Node.js has no time zone data.', 'Install a Node.js with full time zone data (ICU).');
  }
  return fine('clock', `The clock says ${said}, and nothing on disk is younger.`);
}

export async function checkDatabase(config: Config, depth: InspectionDepth): Promise<Check> {
  const elsewhere = config.databaseUrl !== undefined;
  try {
    const inspection = await inspectStore(config, depth);
    if (inspection === null) {
      return unknown('database', 'There is no database yet.', 'Start coomb once; it makes one.');
    }
    const { schemaVersion, knownVersion, damage } = inspection;
    if (damage.length > 0) {
      return trouble(
        'database',
        `The database is damaged: ${damage.slice(0, TOLD).join('; ')}.`,
        'Stop coomb, keep a copy of the file as it is, restore a backup, and have the disk checked.',
      );
    }
    if (schemaVersion > knownVersion) {
      return trouble(
        'database',
        `A newer program wrote the database: its schema has version ${schemaVersion}, this program knows ${knownVersion}.`,
        'Start the newer version again, or restore a backup made before it.',
      );
    }
    const older =
      schemaVersion < knownVersion
        ? ` It has version ${schemaVersion}; the next start brings it to ${knownVersion}.`
        : '';
    const seen = elsewhere
      ? 'The database server answers and lets coomb in. Whether its files are sound, its own tools tell (pg_amcheck).'
      : `${depth === 'quick' ? 'Every page' : 'Every page and index'} was read: nothing is damaged.`;
    return fine('database', `${seen}${older}`);
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    return trouble(
      'database',
      error.message,
      elsewhere
        ? 'Check COOMB_DATABASE_URL, whether the server runs, and the network between.'
        : 'Check that the path is right; if it is, keep a copy of the file as it is and restore a backup.',
    );
  }
}

/** A running coomb at the address of the settings, as it describes itself. */
export interface Running {
  readonly status: string;
  readonly reasons: readonly string[];
  readonly brokerAddress: string;
}

export async function findRunning({ httpHost, httpPort }: Config): Promise<Running | null> {
  const host = httpHost.includes(':') ? `[${httpHost}]` : httpHost;
  try {
    const answer = await fetch(`http://${host}:${httpPort}/healthz`, { signal: AbortSignal.timeout(ANSWER_MS) });
    const { status, reasons, broker } = (await answer.json()) as {
      status?: string;
      reasons?: string[];
      broker?: { address?: string };
    };
    if (status === undefined || reasons === undefined || broker?.address === undefined) return null;
    return { status, reasons, brokerAddress: broker.address };
  } catch {
    return null;
  }
}

export async function checkPage(config: Config, running: Running | null): Promise<Check> {
  const address = `http://${config.httpHost}:${config.httpPort}`;
  if (running !== null) {
    return running.status === 'ok'
      ? fine('page', `coomb runs at ${address} and says that it is well.`)
      : trouble(
          'page',
          `coomb runs at ${address} and says: ${running.reasons.join('; ')}.`,
          'Mend what it says; the log tells more.',
        );
  }
  return checkPort('page', config.httpHost, config.httpPort, 'COOMB_HTTP_PORT');
}

export async function checkBroker(config: Config, running: Running | null): Promise<Check> {
  const embedded = config.mqttUrl === undefined;
  if (embedded && running === null) return checkPort('broker', config.mqttHost, config.mqttPort, 'COOMB_MQTT_PORT');
  const url = embedded ? running!.brokerAddress : config.mqttUrl!;
  const { protocol, host } = new URL(url);
  const shown = `${protocol}//${host}`;
  try {
    const client = await connectAsync(
      url,
      {
        clientId: `coomb-doctor-${process.pid}`,
        connectTimeout: CONNECT_MS,
        reconnectPeriod: 0,
        ...(config.mqttUser === undefined ? {} : { username: config.mqttUser, password: config.mqttPassword! }),
      },
      false,
    );
    await client.endAsync(true);
    return fine('broker', `${embedded ? 'The embedded broker' : 'The broker'} at ${shown} answers and lets coomb in.`);
  } catch (error) {
    return trouble(
      'broker',
      `The broker at ${shown} does not let coomb in: ${words(error) || 'no answer'}.`,
      embedded
        ? 'Check COOMB_MQTT_USER and COOMB_MQTT_PASSWORD; restart coomb.'
        : 'Check COOMB_MQTT_URL, COOMB_MQTT_USER and COOMB_MQTT_PASSWORD, whether the broker runs, and the network between.',
    );
  }
}

function checkPort(area: 'page' | 'broker', host: string, port: number, setting: string): Promise<Check> {
  return new Promise((done) => {
    const probe = createServer();
    probe.once('error', (error) => {
      const taken = codeOf(error) === 'EADDRINUSE';
      done(
        trouble(
          area,
          taken
            ? `Another program has port ${port} of ${host}.`
            : `Port ${port} of ${host} cannot be used: ${words(error)}.`,
          taken
            ? `Stop that program, or set ${setting} to another port.`
            : `Set ${setting} to a port above 1023, and check the address.`,
        ),
      );
    });
    probe.listen(port, host, () =>
      probe.close(() => done(fine(area, `coomb does not run; port ${port} of ${host} is free for it.`))),
    );
  });
}

async function checkHours(store: Store, running: Running | null): Promise<Check> {
  const before = await store.countStaleHours();
  if (before === 0) return fine('hour records', 'Every hour record matches its readings.');
  if (running === null) {
    return fine('hour records', `${before} hours wait to be worked out; the next start does it.`);
  }
  await new Promise((resolve) => setTimeout(resolve, ANSWER_MS));
  const after = await store.countStaleHours();
  // a few are always on their way while sensors send
  if (after < before || after < 48) return fine('hour records', `${after} hours are being worked out.`);
  return trouble(
    'hour records',
    `${after} hours wait to be worked out, and they are not getting fewer.`,
    'Look into the log for why; restart coomb.',
  );
}

async function checkQuarantine(store: Store, now: number): Promise<Check> {
  const total = await store.countQuarantined();
  if (total === 0) return fine('quarantine', 'No message was set aside.');
  const lately = (await store.quarantineGroups(1_000)).filter(({ lastAt }) => lastAt >= now - WEEK_MS);
  if (lately.length === 0) return fine('quarantine', `${total} messages were set aside, none in the last seven days.`);
  const told = lately.slice(0, TOLD).map(({ topic, count, message }) => `${topic} (${count}): ${message}`);
  const more = lately.length > TOLD ? `; and ${lately.length - TOLD} more` : '';
  return trouble(
    'quarantine',
    `${total} messages were set aside, some in the last seven days. ${told.join('; ')}${more}.`,
    'Mend the senders, or tell on the Sensors page what the messages mean; they are kept.',
  );
}

async function checkSensors(store: Store, now: number): Promise<Check[]> {
  const read = createHealthReader({
    store,
    clock: () => now,
    revisions: { of: () => 0 },
    arrivals: { of: () => null },
  });
  const checks: Check[] = [];
  for (const dwelling of await store.dwellings()) {
    if (!IANAZone.isValidZone(dwelling.zone)) {
      checks.push(
        trouble(
          'clock',
          `${dwelling.name} is in the time zone ${dwelling.zone}, which is not known here.`,
          'Correct it in the page.',
        ),
      );
    }
    const { ofSensor } = await read(dwelling);
    for (const { findings } of ofSensor.values()) {
      for (const { sensorName, severity, message, whatToDo } of findings) {
        const said = `${dwelling.name}, ${sensorName}: ${message}`;
        checks.push(severity === 'note' ? fine('sensors', said) : trouble('sensors', said, whatToDo));
      }
    }
    if ([...ofSensor.values()].every(({ findings }) => findings.length === 0)) {
      checks.push(
        fine('sensors', `${dwelling.name}: nothing is wrong with ${ofSensor.size} sensors in their last two weeks.`),
      );
    }
  }
  return checks.length > 0 ? checks : [fine('sensors', 'There is no dwelling yet.')];
}

/** What only the opened store can tell. */
export async function checkContents(
  config: Config,
  now: number,
  running: Running | null,
): Promise<{ checks: Check[]; lastReading: number | null }> {
  const store = await openStore(config);
  try {
    const last: number[] = [];
    for (const { id } of await store.dwellings()) {
      for (const { time } of await store.lastReadings(id)) last.push(time);
    }
    return {
      lastReading: last.length === 0 ? null : Math.max(...last),
      checks: [
        await checkHours(store, running),
        await checkQuarantine(store, now),
        ...(await checkSensors(store, now)),
      ],
    };
  } finally {
    await store.close();
  }
}
