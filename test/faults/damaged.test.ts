import { openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, it, onTestFinished, vi } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { newDataFolder, startProgram } from './program.ts';

const page = async (database: string): Promise<[at: number, size: number]> => {
  const db = new Database(database);
  try {
    // a leaf page that holds readings, as the engine itself counts pages
    const number = db
      .prepare<[], number>(
        "SELECT pageno FROM dbstat WHERE name = 'reading' AND pagetype = 'leaf' ORDER BY pageno LIMIT 1",
      )
      .pluck()
      .get()!;
    const size = db.pragma('page_size', { simple: true }) as number;
    db.pragma('wal_checkpoint(TRUNCATE)');
    return [(number - 1) * size, size];
  } finally {
    db.close();
  }
};

it('a page of the database that went bad: the program serves, and soon after /healthz and the log say what is damaged and what to do', async () => {
  const data = await newDataFolder();
  onTestFinished(data.remove);
  const database = join(data.folder, 'coomb.db');
  const store = await openSqliteStore(database);
  const readings = Array.from({ length: 5000 }, (_, k) => ({
    dwellingId: 1,
    sensorKey: 'attic',
    quantity: 'temperature' as const,
    time: Date.UTC(2026, 0, 5) + k * 60_000,
    value: 10 + (k % 50) / 10,
  }));
  await store.append({ receivedAt: Date.UTC(2026, 0, 9), readings, quarantined: [] });
  await store.close();

  const whole = startProgram({ dataFolder: data.folder, from: 'source' });
  onTestFinished(() => whole.kill());
  await whole.address;
  await vi.waitFor(() => expect(whole.log.join('')).toMatch(/looked through: nothing is damaged/), 30_000);
  expect(await whole.stop()).toBe(0);

  const [at, size] = await page(database);
  writeSync(openSync(database, 'r+'), Buffer.alloc(size, 0xa5), 0, size, at);
  const damaged = startProgram({ dataFolder: data.folder, from: 'source' });
  onTestFinished(() => damaged.kill());
  const address = await damaged.address;
  await vi.waitFor(async () => {
    const health = await fetch(`${address}/healthz`, { headers: { connection: 'close' } });
    const { reasons } = (await health.json()) as { reasons: string[] };
    expect(reasons.join()).toMatch(/database.* damaged.*restore a backup/);
    expect(health.status).toBe(503);
  }, 60_000);
  await vi.waitFor(() => expect(damaged.log.join('')).toMatch(/damaged/), 10_000);
}, 120_000);
