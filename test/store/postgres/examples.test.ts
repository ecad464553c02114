import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { connect } from '../../../server/store/postgres/database.ts';
import { detachPartition } from '../../../server/store/postgres/partitions.ts';
import { appendReadings, DAY, dwellingCalled, givenDwelling, NEW_YEAR, readingOf } from '../contract/given.ts';
import { programs, startServer, type TestServer, whyNot } from '../postgres-server.ts';

describe.skipIf(programs === null)(`examples in PostgreSQL${programs === null ? ` (${whyNot})` : ''}`, () => {
  let server: TestServer;
  beforeAll(async () => {
    server = await startServer();
  });
  afterAll(async () => {
    await server?.stop();
  });

  test('the schema keeps the readings of a home from every way of deleting them', async () => {
    const database = await server.database();
    const store = await database.open();
    const db = connect({ url: database.url, connections: 1 });
    const home = await givenDwelling(store);
    const example = await store.addExample(dwellingCalled('example'));
    for (const dwelling of [home, example]) {
      await appendReadings(store, [readingOf(dwelling, 'one', 'temperature', NEW_YEAR, 20)]);
    }
    for (const statement of [
      'DELETE FROM reading WHERE dwelling_id = 1',
      // an example is not open either until its removal was begun
      'DELETE FROM reading WHERE dwelling_id = 2',
      'TRUNCATE reading',
      'DELETE FROM reading_2026_01',
      `UPDATE dwelling SET kind = 'example' WHERE id = 1`,
      'UPDATE dwelling SET leaving = 1 WHERE id = 1',
      `UPDATE dwelling SET kind = 'example', leaving = 1 WHERE id = 1`,
      'UPDATE dwelling SET id = 7 WHERE id = 1',
      'DELETE FROM dwelling WHERE id = 1',
      'DELETE FROM dwelling WHERE id = 2',
      'UPDATE reading SET dwelling_id = 2 WHERE dwelling_id = 1',
    ]) {
      await expect(db.run(statement), statement).rejects.toThrow();
    }
    await db.run('UPDATE dwelling SET leaving = 1 WHERE id = 2');
    await db.run('DELETE FROM reading WHERE dwelling_id = 2');
    await expect(db.run('DELETE FROM reading')).rejects.toThrow(/never deleted/);
    expect(await db.all('SELECT dwelling_id AS id FROM reading')).toEqual([{ id: 1 }]);
    for (const open of [store, db]) await open.close();
    await database.remove();
  });

  test('no table keeps a row of an example that was removed, not even a detached partition', async () => {
    const database = await server.database();
    const store = await database.open();
    const db = connect({ url: database.url, connections: 1 });
    const home = await givenDwelling(store);
    const example = await store.addExample(dwellingCalled('example'));
    for (const dwelling of [home, example]) {
      const readings = [0, 40].map((day) => readingOf(dwelling, 'one', 'temperature', NEW_YEAR + day * DAY, 20));
      await appendReadings(store, readings);
    }
    await detachPartition(db, 'reading', 'reading_2026_01');
    await store.beginRemoval(example.id);
    const another = await database.open();
    // two processes at it at once
    const remove = async (by: typeof store): Promise<void> => {
      while ((await by.removeSome(example.id, 1)) === 'more');
    };
    const ends = await Promise.allSettled([remove(store), remove(another)]);
    expect(ends.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    const tables = await db.all<{ name: string }>(
      `SELECT relname AS name FROM pg_class JOIN pg_attribute ON attrelid = pg_class.oid AND attname = 'dwelling_id'
       WHERE relkind IN ('r', 'p') AND relnamespace = current_schema()::regnamespace`,
    );
    expect(tables.length).toBeGreaterThan(30);
    expect(tables.map(({ name }) => name)).toContain('detached_reading_2026_01');
    for (const { name } of tables) {
      const left = await db.all(`SELECT 1 FROM ${name} WHERE dwelling_id = $1`, [example.id]);
      expect({ name, left }).toEqual({ name, left: [] });
    }
    expect(await db.all('SELECT dwelling_id AS id FROM detached_reading_2026_01')).toEqual([{ id: home.id }]);
    for (const open of [store, another, db]) await open.close();
    await database.remove();
  });
});
