import { readFileSync, writeFileSync } from 'node:fs';
import Database from 'better-sqlite3';
import { describe, expect, onTestFinished, test } from 'vitest';
import { connect, toStoreError } from '../../../server/store/sqlite/database.ts';
import { openSqliteStore, storeOn } from '../../../server/store/sqlite.ts';
import { appendReadings, dwellingCalled, givenDwelling, message, NEW_YEAR, readingOf } from '../contract/given.ts';
import { newDatabasePath, withDatabase } from './folder.ts';

function givenStoreOnConnection() {
  const path = newDatabasePath();
  const db = connect(path);
  const store = storeOn(db, 50);
  onTestFinished(() => store.close());
  return { path, db, store };
}

describe('when the engine cannot write', () => {
  test('a full disk is said to be full, nothing of the batch stays, and all goes on once there is room', async () => {
    const { db, store } = givenStoreOnConnection();
    const home = await givenDwelling(store);
    await appendReadings(store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 20)]);
    db.pragma(`max_page_count = ${Number(db.pragma('page_count', { simple: true })) + 1}`);
    const batch = {
      receivedAt: NEW_YEAR,
      readings: [readingOf(home, 'new', 'temperature', NEW_YEAR, 20)],
      quarantined: [message({ payload: new Uint8Array(100_000) })],
    };
    await expect(store.append(batch)).rejects.toMatchObject({ name: 'StoreError', fault: 'full' });
    expect(await store.countReadings(home.id)).toBe(1);
    expect(await store.countQuarantined()).toBe(0);
    expect((await store.sensors(home.id)).map(({ key }) => key)).toEqual(['a']);
    db.pragma('max_page_count = 1000000');
    expect(await store.append(batch)).toMatchObject({ stored: 1 });
    expect((await store.sensors(home.id)).map(({ key }) => key)).toEqual(['a', 'new']);
  });

  test('a database that may only be read is said to be so, and reading goes on', async () => {
    const { db, store } = givenStoreOnConnection();
    const home = await givenDwelling(store);
    db.pragma('query_only = ON');
    const reading = readingOf(home, 'a', 'temperature', NEW_YEAR, 20);
    await expect(appendReadings(store, [reading])).rejects.toMatchObject({ fault: 'read-only' });
    expect(await store.dwellings()).toHaveLength(1);
    db.pragma('query_only = OFF');
    expect(await appendReadings(store, [reading])).toMatchObject({ stored: 1 });
  });

  test('a writer that holds the database too long is reported as busy, and the batch can come again', async () => {
    const { path, store } = givenStoreOnConnection();
    const home = await givenDwelling(store);
    const reading = readingOf(home, 'a', 'temperature', NEW_YEAR, 20);
    const other = new Database(path);
    onTestFinished(() => void other.close());
    other.exec('BEGIN IMMEDIATE');
    await expect(appendReadings(store, [reading])).rejects.toMatchObject({ fault: 'busy' });
    other.exec('COMMIT');
    expect(await appendReadings(store, [reading])).toMatchObject({ stored: 1 });
  });

  test('a page that went bad is reported as damage', async () => {
    const path = newDatabasePath();
    const store = await openSqliteStore(path);
    await givenDwelling(store);
    await store.close();
    const [page, size] = withDatabase(path, (db) => [
      db.prepare<[], number>("SELECT rootpage FROM sqlite_schema WHERE name = 'reading'").pluck().get()!,
      db.pragma('page_size', { simple: true }) as number,
    ]);
    const bytes = readFileSync(path);
    writeFileSync(path, bytes.fill(0x5a, (page - 1) * size, page * size));
    const damaged = await openSqliteStore(path);
    onTestFinished(() => damaged.close());
    await expect(damaged.countReadings(1)).rejects.toMatchObject({
      fault: 'failed',
      message: expect.stringMatching(/damaged.*backup/),
    });
    expect(await damaged.dwellings()).toHaveLength(1);
  });

  test('a method called after closing says that the store is closed', async () => {
    const store = await openSqliteStore(':memory:');
    await store.close();
    await expect(store.dwellings()).rejects.toMatchObject({ fault: 'failed', message: 'The store has been closed.' });
    await expect(appendReadings(store, [])).resolves.toEqual({ stored: 0, repeated: 0, conflicting: 0 });
    await expect(store.addDwelling(dwellingCalled('x'))).rejects.toMatchObject({ fault: 'failed' });
    await store.close();
  });

  test('errors of other origin pass unchanged', () => {
    const error = new RangeError('x');
    expect(toStoreError(error)).toBe(error);
    expect(toStoreError(new Database.SqliteError('odd', 'SQLITE_MISUSE'))).toMatchObject({ fault: 'failed' });
  });
});

describe('two processes on one file', () => {
  test('see the sensors that the other one made or renamed', async () => {
    const path = newDatabasePath();
    const [first, second] = [await openSqliteStore(path), await openSqliteStore(path)];
    onTestFinished(() => first.close());
    onTestFinished(() => second.close());
    const home = await givenDwelling(first);
    await appendReadings(first, [readingOf(home, 'a', 'temperature', NEW_YEAR, 1)]);
    await appendReadings(second, [readingOf(home, 'a', 'temperature', NEW_YEAR + 1, 2)]);
    expect(await first.series(home.id)).toHaveLength(1);
    await second.changeSensor(home.id, 1, { key: 'b' });
    await appendReadings(first, [readingOf(home, 'a', 'temperature', NEW_YEAR + 2, 3)]);
    expect((await second.sensors(home.id)).map(({ key }) => key)).toEqual(['b', 'a']);
    expect(await second.lastReadings(home.id)).toMatchObject([{ value: 2 }, { value: 3 }]);
  });
});

test('a durable store syncs its log at every commit', async () => {
  const { db } = givenStoreOnConnection();
  expect(db.pragma('journal_mode', { simple: true })).toBe('wal');
  // 2 is FULL (https://www.sqlite.org/pragma.html#pragma_synchronous)
  expect(db.pragma('synchronous', { simple: true })).toBe(2);
  expect(db.pragma('foreign_keys', { simple: true })).toBe(1);
});
