import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { checkBackup } from '../../server/store/sqlite/backup.ts';

let folder: string;
let coomb: Coomb;
let now: number;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-api-backups-'));
  now = Date.UTC(2026, 0, 14, 22);
});
afterEach(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true, force: true });
});

const start = async (backupFolder?: string): Promise<void> => {
  const config = readConfig({}, { dataFolder: join(folder, 'data'), httpPort: 0, mqttPort: 0, backupFolder });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => now);
};
// biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
const ask = async (method: string, path: string): Promise<{ status: number; body: any }> => {
  const response = await fetch(`${coomb.address}${path}`, { method });
  return { status: response.status, body: await response.json() };
};

async function settled(): Promise<{ backups: { name: string; at: string; bytes: number }[]; lastFailure: unknown }> {
  for (;;) {
    const { body } = await ask('GET', '/api/v1/backups');
    if (!body.running) return body;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

it('a backup is made at the first start and on order, and told of', async () => {
  const backups = join(folder, 'backups');
  await start(backups);
  expect((await settled()).backups).toMatchObject([{ at: '2026-01-14T22:00:00.000Z' }]);
  now += 60_000;
  const begun = await ask('POST', '/api/v1/backups');
  expect(begun).toMatchObject({ status: 200, body: { running: true, everyHours: 24, keep: 14, sameDisk: true } });
  const { backups: made, lastFailure } = await settled();
  expect(made.map(({ at }) => at)).toEqual(['2026-01-14T22:01:00.000Z', '2026-01-14T22:00:00.000Z']);
  expect(lastFailure).toBeNull();
  expect(checkBackup(join(backups, made[0]!.name)).bytes).toBe(made[0]!.bytes);
  expect((await ask('GET', '/healthz')).body.status).toBe('ok');
  now += 50 * 3_600_000;
  expect((await ask('GET', '/healthz')).body.reasons).toEqual([expect.stringMatching(/last backup is 50 hours old/)]);
}, 60_000);

it('two ordered within one second are both made, and neither counts as failed', async () => {
  await start(join(folder, 'backups'));
  await settled();
  await ask('POST', '/api/v1/backups');
  const { backups, lastFailure } = await settled();
  expect(lastFailure).toBeNull();
  expect(backups.map(({ at }) => at)).toEqual(['2026-01-14T22:00:00.000Z', '2026-01-14T22:00:00.000Z']);
  expect(new Set(backups.map(({ name }) => name)).size).toBe(2);
}, 60_000);

it('one that cannot be made is on /healthz with what to do', async () => {
  writeFileSync(join(folder, 'a-file'), '');
  await start(join(folder, 'a-file', 'backups'));
  await settled();
  const { status, body } = await ask('GET', '/healthz');
  expect(status).toBe(503);
  expect(body.reasons).toEqual([expect.stringMatching(/no backup could be made.*Check the path/)]);
});

it('without a folder none is made, and an order says how to set one', async () => {
  await start();
  expect((await ask('GET', '/api/v1/backups')).body).toMatchObject({ folder: null, backups: [], running: false });
  expect(await ask('POST', '/api/v1/backups')).toMatchObject({
    status: 400,
    body: { detail: expect.stringMatching(/COOMB_BACKUP_FOLDER/) },
  });
});
