import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  chmodSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  utimesSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { pino } from 'pino';
import { afterAll, describe, expect, test } from 'vitest';
import type { Check } from '../../server/commands/doctor-checks.ts';
import { readConfig } from '../../server/config.ts';
import { openStore, startCoomb } from '../../server/main.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import { dwellingCalled } from '../store/contract/given.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'coomb-doctor-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const MINUTE = 60_000;
const DAY = 1440 * MINUTE;

interface Ended {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
}

const parts = ['--import', 'tsx', join(root, 'server/cli.ts'), 'doctor'];
const environment = (settings: Readonly<Record<string, string>>): NodeJS.ProcessEnv => ({
  PATH: process.env.PATH,
  // any free port, so that nothing else on this machine is in the way
  COOMB_HTTP_PORT: '0',
  COOMB_MQTT_PORT: '0',
  ...settings,
});

/** Runs the command as a user would, in a process of its own. */
function doctor(settings: Readonly<Record<string, string>>, ...options: string[]): Promise<Ended> {
  return new Promise((done) => {
    const ended = (error: { code?: unknown } | null, stdout: string, stderr: string) =>
      done({ code: error === null ? 0 : ((error.code as number | undefined) ?? 1), stdout, stderr });
    execFile(process.execPath, [...parts, ...options], { cwd: root, env: environment(settings) }, ended);
  });
}

async function checked(
  settings: Readonly<Record<string, string>>,
): Promise<{ code: number; of(area: string): Check[] }> {
  const { code, stdout, stderr } = await doctor(settings, '--json');
  expect(stderr).toBe('');
  const told = JSON.parse(stdout) as { exitCode: number; checks: Check[] };
  expect(told.exitCode).toBe(code);
  return { code, of: (area) => told.checks.filter((check) => check.area === area) };
}

let made = 0;
/** A data folder with a home whose room sensor sent every ten minutes for three days until a moment. */
async function home(until = Date.now()): Promise<string> {
  const data = join(folder, `home-${made++}`);
  const store = await openStore(readConfig({}, { dataFolder: data }));
  const { id } = await store.addDwelling(dwellingCalled('fold'));
  const place = await store.addPlace({ dwellingId: id, name: 'Room', kind: 'room-air', facesPlaceId: null });
  const sensor = await store.ensureSensor(id, 'room');
  await store.placeSensor(id, sensor.id, place.id, until - 10 * DAY);
  const times = Array.from({ length: 432 }, (_, k) => until - k * 10 * MINUTE - MINUTE);
  const readings = times.flatMap((time, k) => [
    { dwellingId: id, sensorKey: 'room', quantity: 'temperature' as const, time, value: 19 + Math.sin(k / 20) },
    { dwellingId: id, sensorKey: 'room', quantity: 'humidity' as const, time, value: 55 + 5 * Math.sin(k / 33) },
  ]);
  await store.append({ receivedAt: until, readings, quarantined: [] });
  await keepHours(store);
  await store.close();
  return data;
}

describe('coomb doctor on a home that is well', () => {
  test('says so in plain words and ends with 0', async () => {
    const { code, stdout, stderr } = await doctor({ COOMB_DATA: await home() });
    expect(stdout).toContain('All is well.');
    expect([code, stderr]).toEqual([0, '']);
    for (const area of [
      'settings',
      'data folder',
      'disk',
      'clock',
      'database',
      'page',
      'broker',
      'quarantine',
      'sensors',
    ]) {
      expect(stdout).toContain(`fine     ${area}: `);
    }
  }, 60_000);

  test('finds the running program, and its broker lets it in', async () => {
    const data = await home();
    const config = readConfig({}, { dataFolder: data, httpPort: 0, mqttPort: 0 });
    const coomb = await startCoomb(config, pino({ level: 'silent' }));
    try {
      const { code, of } = await checked({ COOMB_DATA: data, COOMB_HTTP_PORT: new URL(coomb.address).port });
      expect(of('page')[0]!.message).toContain('says that it is well');
      expect(of('broker')[0]).toMatchObject({ outcome: 'fine', message: expect.stringContaining(coomb.mqttAddress) });
      expect(code).toBe(0);
    } finally {
      await coomb.close();
    }
  }, 60_000);

  test('changes nothing: the folder is the same before and after', async () => {
    const data = await home();
    const sum = (): string =>
      createHash('sha256')
        .update(readFileSync(join(data, 'coomb.db')))
        .digest('hex');
    const before = sum();
    await doctor({ COOMB_DATA: data });
    expect(sum()).toBe(before);
  }, 60_000);
});

describe('coomb doctor before anything was started', () => {
  test('cannot check much, says so and ends with 2', async () => {
    const { code, of } = await checked({ COOMB_DATA: join(folder, 'nothing-yet') });
    expect(of('database')[0]!.outcome).toBe('unknown');
    expect(of('data folder')[0]!.whatToDo).toContain('Start coomb once');
    expect(code).toBe(2);
  }, 60_000);
});

describe('coomb doctor finds, and says what to do about,', () => {
  const finds = async (settings: Readonly<Record<string, string>>, area: string, message: RegExp, whatToDo: RegExp) => {
    const { code, of } = await checked(settings);
    const wrong = of(area).filter(({ outcome }) => outcome === 'trouble');
    expect(wrong.map((check) => check.message).join('\n')).toMatch(message);
    expect(wrong.map((check) => check.whatToDo).join('\n')).toMatch(whatToDo);
    expect(code).toBe(1);
  };

  test(
    'settings that cannot be used',
    () => finds({ COOMB_HTTP_PORT: '99999' }, 'settings', /COOMB_HTTP_PORT/, /--help/),
    60_000,
  );

  test('a file where the data folder should be', async () => {
    const path = join(folder, 'a-file');
    writeFileSync(path, '');
    await finds({ COOMB_DATA: path }, 'data folder', /is a file/, /Move it away/);
  }, 60_000);

  test.skipIf(process.platform === 'win32')(
    'a data folder that everybody may change',
    async () => {
      const data = await home();
      chmodSync(data, 0o777);
      await finds({ COOMB_DATA: data }, 'data folder', /Every user/, /chmod o-w/);
    },
    60_000,
  );

  test('a clock that runs behind what is on disk', async () => {
    const data = await home();
    const later = new Date(Date.now() + 40 * DAY);
    utimesSync(join(data, 'coomb.db'), later, later);
    await finds({ COOMB_DATA: data }, 'clock', /changed after that/, /Set the clock/);
  }, 60_000);

  test('a clock that runs behind the last reading', async () => {
    const data = await home(Date.now() + 3 * DAY);
    await finds({ COOMB_DATA: data }, 'clock', /there is a reading of/, /Set the clock/);
  }, 60_000);

  test('a file that is no database', async () => {
    const data = join(folder, 'no-database');
    mkdirSync(data);
    writeFileSync(join(data, 'coomb.db'), 'this is a letter to my aunt, and not a database at all\n'.repeat(100));
    await finds({ COOMB_DATA: data }, 'database', /not a database/, /restore a backup/);
  }, 60_000);

  test('a database with a page overwritten', async () => {
    const data = await home();
    const path = join(data, 'coomb.db');
    const db = new Database(path);
    // the leaf page that holds readings, as the engine itself counts pages
    const page = db
      .prepare<[], number>(
        `SELECT pageno FROM dbstat WHERE name = 'reading' AND pagetype = 'leaf' ORDER BY pageno LIMIT 1`,
      )
      .pluck()
      .get()!;
    const size = db.pragma('page_size', { simple: true }) as number;
    db.pragma('wal_checkpoint(TRUNCATE)');
    db.close();
    const file = openSync(path, 'r+');
    writeSync(file, Buffer.alloc(size, 0xa5), 0, size, (page - 1) * size);
    await finds({ COOMB_DATA: data }, 'database', /damaged/, /keep a copy/);
  }, 60_000);

  test('a database that a newer program wrote', async () => {
    const data = await home();
    const db = new Database(join(data, 'coomb.db'));
    db.pragma('user_version = 9999');
    db.close();
    await finds({ COOMB_DATA: data }, 'database', /version 9999/, /newer version/);
  }, 60_000);

  test('a port that another program has, and a broker that is not there', async () => {
    const data = await home();
    const other = createServer((socket) => socket.destroy());
    const port = await new Promise<number>((done) => {
      other.listen(0, '127.0.0.1', () => done((other.address() as { port: number }).port));
    });
    try {
      await finds(
        { COOMB_DATA: data, COOMB_MQTT_PORT: String(port) },
        'broker',
        /Another program has port/,
        /COOMB_MQTT_PORT/,
      );
      const url = `mqtt://127.0.0.1:${port}`;
      await finds({ COOMB_DATA: data, COOMB_MQTT_URL: url }, 'broker', /does not let coomb in/, /COOMB_MQTT_URL/);
    } finally {
      await new Promise((done) => other.close(done));
    }
  }, 60_000);

  test('a message that was set aside, and a sensor that fell silent', async () => {
    const data = await home(Date.now() - 3 * DAY);
    const store = await openStore(readConfig({}, { dataFolder: data }));
    const payload = new TextEncoder().encode('warm');
    const message = 'the message is not JSON';
    const topic = 'coomb/fold/attic';
    const quarantined = [{ receivedAt: Date.now(), source: 'mqtt', topic, payload, code: 'not-json', message }];
    await store.append({ receivedAt: Date.now(), readings: [], quarantined });
    await store.close();
    await finds(
      { COOMB_DATA: data },
      'quarantine',
      /coomb\/fold\/attic \(1\): the message is not JSON/,
      /Mend the senders/,
    );
    await finds({ COOMB_DATA: data }, 'sensors', /Nothing has been heard for 3 days/, /battery/);
  }, 60_000);
});
