import { execFile } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { pino } from 'pino';
import { afterAll, expect, test } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { installKey } from '../../server/evidence/key.ts';
import { openStore, startCoomb } from '../../server/main.ts';
import { appendReadings, givenDwelling, NEW_YEAR, readingOf } from '../store/contract/given.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'coomb-backup-command-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Ended {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
}

function coombCommand(...args: string[]): Promise<Ended> {
  return new Promise((done) => {
    execFile(
      process.execPath,
      ['--import', 'tsx', join(root, 'server/cli.ts'), ...args],
      { cwd: root, env: { PATH: process.env.PATH } },
      (error, stdout, stderr) =>
        done({ code: error === null ? 0 : ((error.code as number | undefined) ?? 1), stdout, stderr }),
    );
  });
}

test('backup and restore: while coomb runs, into an empty folder, with the key and a warning about it', async () => {
  const dataFolder = join(folder, 'data');
  const coomb = await startCoomb(readConfig({}, { dataFolder, httpPort: 0, mqttPort: 0 }), pino({ level: 'silent' }));
  const home = await givenDwelling(coomb.store);
  await appendReadings(coomb.store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 20)]);
  installKey(dataFolder);
  const out = join(folder, 'backups');
  const made = await coombCommand('backup', '--data', dataFolder, '--out', `${out}/`);
  expect(made).toMatchObject({ code: 0, stderr: '' });
  expect(made.stdout).toMatch(/Backed up and verified: 1 readings/);
  expect(made.stdout).toMatch(/key that signs evidence packs/);
  const [name] = readdirSync(out);
  expect(statSync(join(out, name!)).mode & 0o777).toBe(0o600);
  const running = await coombCommand('restore', '--from', join(out, name!), '--data', dataFolder, '--replace');
  expect(running).toMatchObject({ code: 1, stderr: expect.stringMatching(/running program uses.*stop it first/) });
  await coomb.close();

  const other = join(folder, 'other');
  const restored = await coombCommand('restore', '--from', join(out, name!), '--data', other);
  expect(restored).toMatchObject({ code: 0, stderr: '' });
  expect(restored.stdout).toMatch(/Restored and verified: 1 readings/);
  expect(readdirSync(other).sort()).toEqual(['coomb.db', 'evidence-key.pem']);
  const store = await openStore(readConfig({}, { dataFolder: other }));
  expect(await store.lastReadings(home.id)).toMatchObject([{ value: 20 }]);
  await store.close();

  const again = await coombCommand('restore', '--from', join(out, name!), '--data', other);
  expect(again).toMatchObject({ code: 1, stderr: expect.stringMatching(/not empty.*--replace/) });
  const replaced = await coombCommand('restore', '--from', join(out, name!), '--data', other, '--replace');
  expect(replaced.stdout).toMatch(/What was there before is in .*set-aside-/);
}, 120_000);

test('two backup commands at once into one folder make two backups', async () => {
  const dataFolder = join(folder, 'twice');
  await (await openStore(readConfig({}, { dataFolder }))).close();
  const out = join(folder, 'twice-backups');
  const both = ['backup', '--data', dataFolder, '--out', `${out}/`];
  const ended = await Promise.all([coombCommand(...both), coombCommand(...both)]);
  expect(ended).toMatchObject([
    { code: 0, stderr: '' },
    { code: 0, stderr: '' },
  ]);
  expect(readdirSync(out)).toHaveLength(2);
}, 60_000);

test('backup without a place to put it says how to name one', async () => {
  const dataFolder = join(folder, 'third');
  await (await openStore(readConfig({}, { dataFolder }))).close();
  const ended = await coombCommand('backup', '--data', dataFolder);
  expect(ended).toMatchObject({ code: 1, stderr: expect.stringMatching(/--out FOLDER.*COOMB_BACKUP_FOLDER/) });
  const none = await coombCommand('backup', '--data', join(folder, 'fourth'), '--out', folder);
  expect(none).toMatchObject({ code: 1, stderr: expect.stringMatching(/no database.*--data/) });
  expect(existsSync(join(folder, 'fourth', 'coomb.db'))).toBe(false);
});
