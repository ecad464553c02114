import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { dwelling, everyReading } from './home.ts';

const project = fileURLToPath(new URL('../..', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'coomb-import-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Ended {
  readonly status: number;
  readonly out: string;
  readonly err: string;
}

/** `coomb import` as a user runs it, with nobody at the keyboard. */
function coombImport(...args: string[]): Promise<Ended> {
  const child = spawn(process.execPath, ['--import', 'tsx', 'server/cli.ts', 'import', ...args], {
    cwd: project,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let out = '';
  let err = '';
  child.stdout.on('data', (text: Buffer) => {
    out += text.toString();
  });
  child.stderr.on('data', (text: Buffer) => {
    err += text.toString();
  });
  return new Promise((resolve) => child.once('close', (status) => resolve({ status: status ?? -1, out, err })));
}

const data = join(folder, 'data');
const log = join(folder, 'Eaves north.csv');
writeFileSync(
  log,
  '\ufeffDate Time;Temp °F;RH\r\n31.01.2026 17:20:00;54,68;80,5\r\n31.01.2026 17:30:00;54,68;300\r\n31.01.2026 17:40:00;warm;81\r\n',
);

async function stored(): Promise<readonly unknown[]> {
  const store = await openSqliteStore(join(data, 'coomb.db'));
  const [home] = await store.dwellings();
  const readings = home === undefined ? [] : await everyReading(store, home.id);
  await store.close();
  return readings;
}

describe('coomb import', { timeout: 180_000 }, () => {
  it('shows what it understood and writes nothing without a yes', async () => {
    const { status, out, err } = await coombImport(log, '--data', data);
    expect(status).toBe(3);
    expect(err).toContain('Add --yes');
    expect(out).toMatch(/semicolon, decimal comma, 1 header row/);
    expect(out).toMatch(/temperature +from "Temp °F" in °F: 2 values, 12\.6 to 12\.6 °C/);
    expect(out).toMatch(/line 3: RH is "300"; humidity must lie between 0 and 105 %/);
    expect(out).toMatch(/line 4: Temp °F is "warm", which is no number/);
    expect(await stored()).toEqual([]);
  });

  it('writes with a yes, lists what it leaves out, and adds nothing the second time', async () => {
    const rejects = join(folder, 'rejects.csv');
    const args = [log, '--data', data, '--utc-offset', '+01:00', '--sensor', 'eaves', '--yes'];
    const first = await coombImport(...args, '--rejects', rejects);
    expect(first).toMatchObject({ status: 2, err: '' });
    expect(first.out).toContain('4 readings of eaves were stored');
    const at = (minute: number): number => Date.UTC(2026, 0, 31, 16, minute);
    expect(await stored()).toEqual([
      ['eaves', 'humidity', at(20), 80.5],
      ['eaves', 'humidity', at(40), 81],
      ['eaves', 'temperature', at(20), expect.closeTo(12.6, 10)],
      ['eaves', 'temperature', at(30), expect.closeTo(12.6, 10)],
    ]);
    expect(
      readFileSync(rejects, 'utf8')
        .split('\r\n')
        .map((line) => line.split(',')[0]),
    ).toEqual(['line', '3', '4', '']);
    const second = await coombImport(...args);
    expect(second.out).toContain('0 readings of eaves were stored; 4 were there already');
    expect(await stored()).toHaveLength(4);
    const again = await coombImport(...args, '--rejects', rejects);
    expect(again).toMatchObject({ status: 1, err: expect.stringContaining('EEXIST') });
  });

  it('says what to do about a file or an option it cannot use', async () => {
    const empty = join(folder, 'empty.csv');
    writeFileSync(empty, '');
    expect(await coombImport(empty, '--data', data)).toMatchObject({
      status: 1,
      err: expect.stringContaining('is empty'),
    });
    const missing = await coombImport(join(folder, 'nowhere.csv'), '--data', data);
    expect(missing).toMatchObject({ status: 1, err: expect.stringContaining('ENOENT') });
    const zone = await coombImport(log, '--data', data, '--zone', 'Moon/Base');
    expect(zone).toMatchObject({ status: 1, err: expect.stringContaining('Europe/London') });
    const column = await coombImport(log, '--data', data, '--humidity', 'wet');
    expect(column).toMatchObject({ status: 1, err: expect.stringContaining('"Date Time", "Temp °F", "RH"') });
    const home = await coombImport(log, '--data', data, '--dwelling', 'castle');
    expect(home).toMatchObject({ status: 1, err: expect.stringContaining('no dwelling castle') });
  });

  it('asks which dwelling where there are several', async () => {
    const store = await openSqliteStore(join(data, 'coomb.db'));
    await store.addDwelling(dwelling);
    await store.close();
    const asked = await coombImport(log, '--data', data, '--yes');
    expect(asked).toMatchObject({ status: 1, err: expect.stringMatching(/--dwelling .*gable-cottage/) });
    const told = await coombImport(log, '--data', data, '--yes', '--dwelling', dwelling.slug);
    expect(told.out).toContain('4 readings of Eaves-north were stored');
    expect(existsSync(log)).toBe(true);
  });
});
