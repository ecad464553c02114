import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { cleanerOptions, createPictureCleaner } from '../../server/pictures/clean.ts';
import { FROM, givenSealedHome, TO } from '../evidence/home.ts';
import { twoColours } from '../pictures/made.ts';

let folder: string;
let coomb: Coomb;
const log: string[] = [];
let now = TO + 3_600_000;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-children-'));
  const config = readConfig(
    {},
    { dataFolder: join(folder, 'data'), backupFolder: join(folder, 'backups'), httpPort: 0, mqttPort: 0 },
  );
  const said = pino({ level: 'warn' }, { write: (line: string) => log.push(line) });
  coomb = await startCoomb(config, said, () => (now += 1000));
  await givenSealedHome(coomb.store);
  await coomb.settled();
}, 120_000);

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true, force: true });
});

// biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
async function ask(method: string, path: string, body?: unknown): Promise<any> {
  const response = await fetch(`${coomb.address}/api/v1${path}`, {
    method,
    ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'content-type': 'application/json' } }),
  });
  return response.json();
}

/** Kills the process that runs a script for this one, as the system does when memory runs out: as soon as it is seen. Gives its number. */
async function killChild(script: string): Promise<string> {
  for (let waited = 0; waited < 30_000; waited += 5) {
    for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
      try {
        const parent = Number(readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]!.split(' ')[1]);
        if (parent !== process.pid || !readFileSync(`/proc/${pid}/cmdline`, 'utf8').includes(script)) continue;
        process.kill(Number(pid), 'SIGKILL');
        return pid;
      } catch {
        // it ended while it was looked at
      }
    }
    await pause(5);
  }
  throw new Error(`no process runs ${script}`);
}

/** Readings are taken, and answered, as if nothing had happened. */
let sent = 0;
async function expectGoesOn(): Promise<void> {
  const reading = { time: TO + ++sent * 1000, temperature_c: 20 };
  const response = await fetch(`${coomb.address}/api/v1/dwellings/larch/readings/room`, {
    method: 'POST',
    body: JSON.stringify(reading),
  });
  expect(response.status).toBe(200);
}

describe.skipIf(process.platform !== 'linux')('a process of ours killed by SIGKILL, as for want of memory', () => {
  it('that makes an evidence pack: the pack says so, readings go on, and the next pack is made', async () => {
    const wanted = {
      from: new Date(FROM).toISOString(),
      to: new Date(TO).toISOString(),
      places: null,
      words: 'without-words',
      report: 'works',
      paper: 'A4',
    };
    const done = async (id: string) => {
      for (;;) {
        const pack = await ask('GET', `/dwellings/larch/packs/${id}`);
        if (pack.state !== 'making') return pack;
        await pause(50);
      }
    };
    const first = await ask('POST', '/dwellings/larch/packs', wanted);
    await killChild('pack-process');
    expect(await done(first.id)).toMatchObject({
      state: 'failed',
      problem: expect.stringMatching(/killed.*memory runs out.*Try again/),
    });
    await expectGoesOn();
    const second = await ask('POST', '/dwellings/larch/packs', wanted);
    expect(await done(second.id)).toMatchObject({ state: 'ready', problem: null });
  }, 120_000);

  it('that makes a backup: page, /healthz and log say so, readings go on, and the next backup is made', async () => {
    const settled = async () => {
      for (;;) {
        const state = await ask('GET', '/backups');
        if (!state.running) return state;
        await pause(50);
      }
    };
    await settled();
    const before = (await settled()).backups.length;
    const asked = fetch(`${coomb.address}/api/v1/backups`, { method: 'POST' });
    await killChild('backup-process');
    await asked;
    const { lastFailure, backups } = await settled();
    expect(lastFailure.message).toMatch(/broken off: its process was killed.*memory runs out/);
    expect(backups).toHaveLength(before);
    const health = (await (await fetch(`${coomb.address}/healthz`)).json()) as { reasons: string[] };
    expect(health.reasons.join()).toMatch(/no backup could be made: .*memory runs out/);
    expect(log.join('')).toMatch(/no backup could be made/);
    await expectGoesOn();
    await fetch(`${coomb.address}/api/v1/backups`, { method: 'POST' });
    expect((await settled()).lastFailure).toBeNull();
    expect((await fetch(`${coomb.address}/healthz`)).status).toBe(200);
  }, 120_000);

  it('that loads the example: the page says so, what was loaded is taken away, and readings go on', async () => {
    await ask('POST', '/example');
    let example = await ask('GET', '/example');
    // some of it is there
    for (; example.state === 'loading' && !(example.share > 0); example = await ask('GET', '/example')) await pause(20);
    expect(example.state).toBe('loading');
    await killChild('example-process');
    example = await ask('GET', '/example');
    for (; example.state !== 'absent'; example = await ask('GET', '/example')) await pause(50);
    expect(example.problem).toMatch(/could not be loaded: its process was killed.*memory runs out/);
    await expectGoesOn();
    expect((await ask('GET', '/dwellings')).map(({ slug }: { slug: string }) => slug)).toEqual(['larch']);
  }, 120_000);

  it('that makes photos clean, while it has nothing to do: the next photo is taken', async () => {
    const cleaner = createPictureCleaner({ ...cleanerOptions, idleMs: 60_000 });
    const jpeg = await twoColours(640, 480);
    await cleaner.clean(jpeg);
    const killed = await killChild('clean-process');
    // gone from the list of processes once this one was told of its end
    while (existsSync(`/proc/${killed}`)) await pause(5);
    expect(await cleaner.clean(jpeg)).toMatchObject({ width: 640 });
    await cleaner.close();
    await expect(cleaner.clean(jpeg)).rejects.toThrow('is being closed');
  }, 120_000);
});
