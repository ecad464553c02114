import { execFileSync } from 'node:child_process';
import { copyFileSync, existsSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { describe, expect, it, onTestFinished } from 'vitest';
import type { Health } from '../../server/api/contract/figures.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { everyReading } from '../ingest/home.ts';
import { freePort } from '../ingest/processes.ts';
import { FIRST, MINUTE, openDevice } from './device.ts';
import { addHome, newDataFolder, type Program, startProgram } from './program.ts';
import { fillDisk, mountSmallDisk, smallDisksWork } from './small-disk.ts';

const dataFolder = async (): Promise<string> => {
  const { folder, remove } = await newDataFolder();
  onTestFinished(remove);
  return folder;
};

async function startHere(folder: string): Promise<{ program: Program; page: string; mqtt: string }> {
  const port = String(await freePort());
  const program = startProgram({ dataFolder: folder, from: 'source', settings: { COOMB_MQTT_PORT: port } });
  onTestFinished(() => program.kill());
  return { program, page: await program.address, mqtt: `mqtt://127.0.0.1:${port}` };
}

const healthOf = async (page: string): Promise<Health> =>
  (await (await fetch(`${page}/healthz`, { headers: { connection: 'close' } })).json()) as Health;

async function until(condition: () => boolean | Promise<boolean>, patienceMs: number, what: string): Promise<void> {
  for (const begun = performance.now(); !(await condition()); await pause(50)) {
    if (performance.now() - begun > patienceMs) throw new Error(`${what} did not come true in ${patienceMs / 1000} s`);
  }
}

interface NoticeSeen {
  readonly code: string;
  readonly title: string;
  readonly what: string;
  readonly endedAt: string | null;
}

async function noticesOf(page: string): Promise<{ current: NoticeSeen[]; past: NoticeSeen[] }> {
  return (await fetch(`${page}/api/v1/dwellings/gable-cottage/notices`)).json() as never;
}

/** Names of events that an open page hears. */
async function openPage(page: string): Promise<string[]> {
  const heard: string[] = [];
  const leave = new AbortController();
  onTestFinished(() => leave.abort());
  const { body } = await fetch(`${page}/api/v1/dwellings/gable-cottage/live`, { signal: leave.signal });
  const reader = body!.pipeThrough(new TextDecoderStream()).getReader();
  const listen = async (): Promise<void> => {
    for (;;) {
      const { value, done } = await reader.read();
      if (done) return;
      heard.push(...[...value.matchAll(/^event: (.*)$/gm)].map(([, name]) => name!));
    }
  };
  listen().catch(() => undefined);
  return heard;
}

/** Numbers of the readings in the database, in order. */
async function storedIn(folder: string): Promise<number[]> {
  const store = await openSqliteStore(join(folder, 'coomb.db'));
  try {
    const { id } = (await store.dwellings())[0]!;
    expect(await store.countQuarantined()).toBe(0);
    expect(await store.conflicts(id, 10)).toEqual([]);
    return (await everyReading(store, id)).map(([, , time]) => (time - FIRST) / MINUTE);
  } finally {
    await store.close();
  }
}

const upTo = (n: number): number[] => Array.from({ length: n }, (_, k) => k);

describe.skipIf(!smallDisksWork)('a disk that is full', () => {
  it('keeps the PUBACK back; /healthz, /readyz, the log, open pages and a notice say so; when there is room again, what devices resend is there once', async () => {
    const disk = mountSmallDisk(12 << 10);
    await addHome(disk);
    const { program, page, mqtt } = await startHere(disk);
    const heard = await openPage(page);
    const device = await openDevice(mqtt);
    device.send(0, 5);
    await until(() => device.acknowledged.size === 5, 10_000, 'acknowledging on a disk with room');

    const makeRoom = fillDisk(disk);
    device.send(5, 400);
    await until(async () => (await healthOf(page)).trouble !== null, 20_000, 'noticing that the disk is full');
    const before = device.acknowledged.size;
    expect(before).toBeLessThan(400);
    device.breakOff();
    await pause(1500);
    expect(device.acknowledged.size).toBe(before);

    const health = await healthOf(page);
    expect(health.trouble!.code).toBe('full');
    expect(health.reasons.join()).toMatch(/readings cannot be stored: The disk is full/);
    const ready = await fetch(`${page}/readyz`);
    expect([ready.status, await ready.json()]).toMatchObject([503, { ready: false }]);
    expect(program.log.join('')).toMatch(/readings cannot be stored; they are held and tried again/);
    expect(heard).toContain('storing');
    await until(async () => (await noticesOf(page)).current.length > 0, 10_000, 'a notice on a full disk');
    const [notice] = (await noticesOf(page)).current;
    expect(notice).toMatchObject({ code: 'not-stored', what: expect.stringContaining('The disk was full.') });

    makeRoom();
    await until(() => device.acknowledged.size === 400, 30_000, 'going on when there is room');
    await until(async () => (await noticesOf(page)).current.length === 0, 10_000, 'ending the notice');
    expect((await noticesOf(page)).past).toMatchObject([{ code: 'not-stored', endedAt: expect.any(String) }]);
    // hours that could not be rebuilt meanwhile are tried again within ten seconds
    await until(async () => (await healthOf(page)).status === 'ok', 20_000, 'being well again');
    expect((await healthOf(page)).trouble).toBeNull();
    expect((await fetch(`${page}/readyz`)).status).toBe(200);
    expect(program.log.join('')).toMatch(/readings are being stored again/);
    expect(heard.filter((name) => name === 'storing').length).toBeGreaterThanOrEqual(2);
    await device.leave();
    expect(await program.stop()).toBe(0);
    expect(await storedIn(disk)).toEqual(upTo(400));
  }, 120_000);

  it('already at the start: the program ends with 1, says that the disk is full, and starts once there is room', async () => {
    const disk = mountSmallDisk(12 << 10);
    await addHome(disk);
    const makeRoom = fillDisk(disk);
    const refused = startProgram({ dataFolder: disk, from: 'source' });
    await expect(refused.address).rejects.toThrow(/disk is full.*Free some space/);
    expect(refused.process.exitCode).toBe(1);
    makeRoom();
    const { program } = await startHere(disk);
    expect(await program.stop()).toBe(0);
  }, 120_000);

  it('that is mounted for reading alone: the program ends with 1 and says what to do', async () => {
    const disk = mountSmallDisk(12 << 10);
    await addHome(disk);
    execFileSync('mount', ['-o', 'remount,ro', disk]);
    const program = startProgram({ dataFolder: disk, from: 'source' });
    await expect(program.address).rejects.toThrow(/cannot be (written|opened).*check/is);
    expect(program.process.exitCode).toBe(1);
    expect(program.log.join('')).not.toMatch(/at .*\.ts:\d+/);
  }, 60_000);
});

describe('a database that another process has locked', () => {
  it('keeps the PUBACK back and the page answering; /healthz says so, and all is there once when the lock is gone', async () => {
    const folder = await dataFolder();
    const { program, page, mqtt } = await startHere(folder);
    const device = await openDevice(mqtt);
    device.send(0, 5);
    await until(() => device.acknowledged.size === 5, 10_000, 'acknowledging without a lock');

    const other = new Database(join(folder, 'coomb.db'));
    onTestFinished(() => void other.close());
    other.exec('BEGIN IMMEDIATE');
    device.send(5, 60);
    await until(async () => (await healthOf(page)).trouble?.code === 'busy', 20_000, 'noticing the lock');
    expect((await healthOf(page)).reasons.join()).toMatch(/Another process has held the database for too long/);
    let longest = 0;
    for (let k = 0; k < 15; k++) {
      const asked = performance.now();
      // on a connection of its own: one kept open may be closed for its age while a lock is waited for
      const answer = await fetch(`${page}/api/v1/dwellings`, { headers: { connection: 'close' } });
      expect(answer.status).toBe(200);
      longest = Math.max(longest, performance.now() - asked);
      await pause(200);
    }
    // waiting for a lock holds up everything else: it must not be for long
    expect(longest).toBeLessThan(3000);
    expect(device.acknowledged.size).toBe(5);
    device.breakOff();
    other.exec('COMMIT');
    await until(() => device.acknowledged.size === 60, 30_000, 'going on without the lock');
    await device.leave();
    expect(await program.stop()).toBe(0);
    expect(await storedIn(folder)).toEqual(upTo(60));
  }, 120_000);
});

describe('a log of the database (WAL) that a killed process left behind', () => {
  it('is taken in at the next start, whole, and is gone after a stop in order', async () => {
    const folder = await dataFolder();
    const first = await startHere(folder);
    const device = await openDevice(first.mqtt);
    device.send(0, 300);
    await until(() => device.acknowledged.size === 300, 20_000, 'acknowledging');
    await device.leave();
    await first.program.kill();

    const wal = join(folder, 'coomb.db-wal');
    expect(statSync(wal).size).toBeGreaterThan(0);
    // without its log the database does not have them yet
    copyFileSync(join(folder, 'coomb.db'), join(folder, 'without-log.db'));
    const without = new Database(join(folder, 'without-log.db'), { readonly: true });
    const count = (db: Database.Database): number =>
      db.prepare<[], number>("SELECT count(*) FROM sqlite_schema WHERE name = 'reading'").pluck().get() === 1
        ? db.prepare<[], number>('SELECT count(*) FROM reading').pluck().get()!
        : 0;
    expect(count(without)).toBeLessThan(300);
    without.close();

    const second = await startHere(folder);
    expect(await second.program.stop()).toBe(0);
    expect(existsSync(wal) ? readFileSync(wal).length : 0).toBe(0);
    expect(await storedIn(folder)).toEqual(upTo(300));
  }, 120_000);
});
