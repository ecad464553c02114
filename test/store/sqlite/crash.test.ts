import { spawn } from 'node:child_process';
import { copyFileSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import type { Store } from '../../../server/store/port.ts';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { givenDwelling, HOUR, NEW_YEAR } from '../contract/given.ts';
import { BATCH_SIZE, batchOf } from './crash-batch.ts';
import { newDatabasePath, withDatabase } from './folder.ts';

const child = fileURLToPath(new URL('./crash-child.ts', import.meta.url));

/** Lets a process append from batch `first` on and kills it as soon as it acknowledged `count`; gives the last one. */
async function appendUntilKilled(path: string, first: number, count: number): Promise<number> {
  const writer = spawn(process.execPath, ['--import', 'tsx', child, path, String(first)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const ended = new Promise<NodeJS.Signals | null>((resolve) => writer.on('exit', (_, signal) => resolve(signal)));
  let last = -1;
  for await (const line of createInterface({ input: writer.stdout })) {
    last = Number(line);
    if (last >= first + count - 1) writer.kill('SIGKILL');
  }
  expect(await ended).toBe('SIGKILL');
  return last;
}

/** How many batches the store holds, having made sure that it holds each of them whole. */
async function wholeBatches(store: Store): Promise<number> {
  const batches = await store.countQuarantined();
  expect(await store.countReadings(1)).toBe(batches * BATCH_SIZE);
  for (const { times, values } of await store.seriesColumns(1, 0, Number.POSITIVE_INFINITY)) {
    expect(times).toHaveLength(batches);
    expect([...times].map((time) => (time - NEW_YEAR) / 60_000)).toEqual([...values].map(Math.floor));
  }
  expect(await store.countStaleHours()).toBe(Math.ceil((batches * 60_000) / HOUR));
  return batches;
}

const integrityOf = (path: string) => withDatabase(path, (db) => db.pragma('integrity_check', { simple: true }));

describe('a process killed while it appends', () => {
  test('leaves every batch it acknowledged, whole, in a database that opens and goes on', async () => {
    const path = newDatabasePath();
    const store = await openSqliteStore(path);
    await givenDwelling(store);
    await store.close();

    let last = -1;
    for (const count of [1, 40, 173]) {
      last = await appendUntilKilled(path, last + 1, count);
      expect(statSync(`${path}-wal`).size).toBeGreaterThan(0);
      const reopened = await openSqliteStore(path);
      const batches = await wholeBatches(reopened);
      // one more may have been committed that there was no time to acknowledge
      expect(batches).toBeGreaterThanOrEqual(last + 1);
      last = batches - 1;
      await reopened.close();
      expect(integrityOf(path)).toBe('ok');
    }
  });

  test('whose log was cut off or spoilt anywhere by the power going leaves whole batches in a sound database', async () => {
    const path = newDatabasePath();
    const store = await openSqliteStore(path);
    await givenDwelling(store);
    for (let k = 0; k < 12; k++) await store.append(batchOf(k));
    const database = readFileSync(path);
    const log = readFileSync(`${path}-wal`);
    await store.close();

    const counts: number[] = [];
    for (let share = 0; share <= 1; share += 1 / 16) {
      for (const harm of ['cut', 'spoilt'] as const) {
        const copy = `${path}-${harm}-${share}`;
        const at = Math.floor(share * log.length);
        writeFileSync(copy, database);
        writeFileSync(`${copy}-wal`, harm === 'cut' ? log.subarray(0, at) : spoilt(log, at));
        const survivor = await openSqliteStore(copy);
        if ((await survivor.dwellings()).length > 0) counts.push(await wholeBatches(survivor));
        await survivor.close();
        expect(integrityOf(copy)).toBe('ok');
      }
    }
    expect(Math.max(...counts)).toBe(12);
    expect(new Set(counts).size).toBeGreaterThan(3);
  });
});

function spoilt(log: Buffer, at: number): Buffer {
  const copy = Buffer.from(log);
  for (let k = at; k < Math.min(at + 512, copy.length); k++) copy[k] = copy[k]! ^ 0xff;
  return copy;
}

test('a copy of the file and its log, taken while the store is open, is a store', async () => {
  const path = newDatabasePath();
  const store = await openSqliteStore(path);
  await givenDwelling(store);
  await store.append(batchOf(0));
  copyFileSync(path, `${path}-copy`);
  copyFileSync(`${path}-wal`, `${path}-copy-wal`);
  await store.close();
  const copy = await openSqliteStore(`${path}-copy`);
  expect(await wholeBatches(copy)).toBe(1);
  await copy.close();
});
