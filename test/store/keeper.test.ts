import { expect, onTestFinished, test } from 'vitest';
import { createKeeper } from '../../server/store/keeper.ts';
import type { Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { appendReadings, givenDwelling, givenWatchedPlace, HOUR, NEW_YEAR, readingOf } from './contract/given.ts';

const silent = { error: () => undefined };

async function givenStaleHours(count: number): Promise<Store> {
  const store = await openSqliteStore(':memory:');
  onTestFinished(() => store.close());
  const home = await givenDwelling(store);
  await givenWatchedPlace(store, home, 'loft-air', 'a');
  await appendReadings(
    store,
    Array.from({ length: count }, (_, hour) => readingOf(home, 'a', 'temperature', NEW_YEAR + hour * HOUR, 5)),
  );
  return store;
}

test('a keeper that is closed in the middle of a long rebuild leaves the rest stale for the next start', async () => {
  const store = await givenStaleHours(200);
  let closed: Promise<void> | undefined;
  const keeper = createKeeper(store, silent, () => {
    closed ??= keeper.close();
  });
  await keeper.settled();
  await closed;
  const left = await store.countStaleHours();
  expect(left).toBeGreaterThan(0);
  expect(left).toBeLessThan(200);
  const next = createKeeper(store, silent, () => undefined);
  await next.settled();
  await next.close();
  expect(await store.countStaleHours()).toBe(0);
});

test('a keeper whose store failed says why until the hours are rebuilt', async () => {
  const store = await givenStaleHours(3);
  let failures = 1;
  const failing: Store = {
    ...store,
    async replaceHours(...replaced) {
      if (failures-- > 0) throw new Error('the disk is full');
      return store.replaceHours(...replaced);
    },
  };
  const logged: string[] = [];
  const keeper = createKeeper(failing, { error: (_, message) => logged.push(message) }, () => undefined);
  onTestFinished(() => keeper.close());
  await expect(keeper.settled()).rejects.toThrow('the disk is full');
  expect(keeper.lastError()).toBe('the disk is full');
  expect(logged).toHaveLength(1);
  expect(await store.countStaleHours()).toBe(3);
  await keeper.settled();
  expect(keeper.lastError()).toBeNull();
  expect(await store.countStaleHours()).toBe(0);
});
