import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Store } from '../../../server/store/port.ts';
import type { TestDatabase } from '../contract/under-test.ts';
import { programs, startServer, type TestServer, whyNot } from '../postgres-server.ts';

describe.skipIf(programs === null)(`processes on one database${programs === null ? ` (${whyNot})` : ''}`, () => {
  let server: TestServer;
  let database: TestDatabase & { readonly url: string };
  let open: Store[];
  beforeAll(async () => {
    server = await startServer();
  });
  afterAll(async () => {
    await server?.stop();
  });
  beforeEach(async () => {
    database = await server.database();
    open = [await database.open(), await database.open(), await database.open()];
  });
  afterEach(async () => {
    for (const store of open) await store.close();
    await database.remove();
  });

  const breakConnections = () =>
    server.query(
      `SELECT pg_terminate_backend(pid) FROM pg_stat_activity
       WHERE datname = '${new URL(database.url.replace('@/', '@localhost/')).pathname.slice(1)}' AND pid <> pg_backend_pid()`,
    );

  test('never do the same work on the same dwelling at a time, and leave none undone', async () => {
    const underWay = new Set<number>();
    const done = new Map<number, number>();
    const work = async (store: Store): Promise<void> => {
      for (const id of [1, 2, 3, 4, 5, 6, 7, 8]) {
        await store.doAlone('watch', id, async () => {
          expect(underWay.has(id)).toBe(false);
          underWay.add(id);
          await new Promise((resolve) => setTimeout(resolve, 5));
          underWay.delete(id);
          done.set(id, (done.get(id) ?? 0) + 1);
        });
      }
    };
    await Promise.all(open.map(work));
    expect([...done.keys()].sort()).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
  });

  test('take over the work of one that has gone', async () => {
    const [first, second] = open as [Store, Store];
    void first.doAlone('hours', 1, () => new Promise(() => {}));
    expect(await first.takeCharge('states')).toBe(true);
    expect(await second.takeCharge('states')).toBe(false);
    expect(await second.doAlone('hours', 1, async () => 'mine')).toBeNull();
    await open.shift()!.close();
    await vi.waitFor(async () => expect(await second.takeCharge('states')).toBe(true), 5000);
    expect(await second.doAlone('hours', 1, async () => 'mine')).toBe('mine');
  });

  test('hear what others say, once and in order, and not what they say themselves', async () => {
    const heard: string[][] = [[], [], []];
    for (const [k, store] of open.entries()) {
      await store.listen(
        (word) => heard[k]!.push(word),
        () => {},
      );
    }
    const long = 'ä'.repeat(3500);
    await open[0]!.tellOthers(['one', 'two', 'it is "wet"\n']);
    await open[1]!.tellOthers([long]);
    await vi.waitFor(() => expect(heard[2]).toHaveLength(4), 5000);
    expect(heard[2]).toEqual(['one', 'two', 'it is "wet"\n', long]);
    await vi.waitFor(() => expect([heard[0]!.length, heard[1]!.length]).toEqual([1, 3]), 5000);
    expect(heard[0]).toEqual([long]);
    expect(heard[1]).toEqual(['one', 'two', 'it is "wet"\n']);
  });

  test('are told when they may have missed something, and hear again after', async () => {
    const [first, second] = open as [Store, Store];
    const heard: string[] = [];
    let missed = 0;
    await second.listen(
      (word) => heard.push(word),
      () => missed++,
    );
    expect(await second.takeCharge('states')).toBe(true);
    await breakConnections();
    await vi.waitFor(() => expect(missed).toBe(1), 10_000);
    // whoever had taken charge has to take it anew
    expect(await first.takeCharge('states')).toBe(true);
    expect(await second.takeCharge('states')).toBe(false);
    await first.tellOthers(['again']);
    await vi.waitFor(() => expect(heard).toEqual(['again']), 5000);
  });
});
