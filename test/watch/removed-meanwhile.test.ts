import { expect, test } from 'vitest';
import { createSummaryKeeper } from '../../server/api/summaries.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import type { Dwelling, Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { whileThere } from '../../server/store/while-there.ts';
import { createWatcher } from '../../server/watch/watcher.ts';
import { dwellingCalled } from '../store/contract/given.ts';
import { BEGIN, givenHome, HOUR, homeReadings } from './given-home.ts';

/**
 * The example can be removed at any moment: in the middle of what is being worked out about it as well. The page said
 * then that something is wrong, for a minute, though nothing was.
 */
const TO = BEGIN + 7 * 24 * HOUR;

async function givenExample(): Promise<{ store: Store; example: Dwelling; remove: () => Promise<void> }> {
  const store = await openSqliteStore(':memory:');
  const example = await givenHome({
    ...store,
    addDwelling: () => store.addExample(dwellingCalled('example')) as never,
  });
  await store.append({ receivedAt: TO, readings: homeReadings(example.id, BEGIN, TO), quarantined: [] });
  let begun = false;
  const remove = async (): Promise<void> => {
    if (begun) return;
    begun = true;
    await store.beginRemoval(example.id);
    while ((await store.removeSome(example.id, 1000)) === 'more');
  };
  return { store, example, remove };
}

const troubles: string[] = [];
const log = { error: (_: object, message: string) => void troubles.push(message) };

test('an example that is removed while it is watched is no failure of the watch', async () => {
  const { store, remove } = await givenExample();
  await keepHours(store);
  const findings = async (): Promise<[]> => {
    await remove();
    return [];
  };
  const rounds = createWatcher({
    store,
    clock: () => TO,
    log,
    everyMs: HOUR,
    onChanged: () => undefined,
    findings,
    nights: async () => [],
    latest: async () => [],
    troubles: () => [],
  });
  await rounds.look();
  expect(rounds.lastError()).toBeNull();
  expect(await store.examples()).toEqual([]);
  await rounds.close();
  await store.close();
  expect(troubles).toEqual([]);
});

test('an example that is removed while its line is worked out is no failure, and is not come back to', async () => {
  const { store, example, remove } = await givenExample();
  await keepHours(store);
  let asked = 0;
  const rounds = createSummaryKeeper({
    store,
    comparer: { ceilings: async () => [] },
    nights: async () => {
      asked++;
      await remove();
      return [];
    },
    clock: () => TO,
    log,
    everyMs: HOUR,
  });
  rounds.changed(example.id);
  await rounds.look();
  await rounds.look();
  expect(asked).toBe(1);
  expect(rounds.lastError()).toBeNull();
  await rounds.close();
  await store.close();
  expect(troubles).toEqual([]);
});

test('an example that is removed while its hours are rebuilt is no failure, and what fails otherwise still is one', async () => {
  const { store, example, remove } = await givenExample();
  const rebuilding = {
    ...store,
    replaceHours: (...of: Parameters<Store['replaceHours']>) => remove().then(() => store.replaceHours(...of)),
  };
  await keepHours(rebuilding, { doAlone: (id, task) => whileThere(store, id, task) });
  expect(await store.countStaleHours()).toBe(0);

  const other = await store.addDwelling(dwellingCalled('other'));
  const fail = (): Promise<never> => Promise.reject(new Error('the disk is full'));
  expect(await whileThere(store, example.id, fail)).toBeNull();
  await expect(whileThere(store, other.id, fail)).rejects.toThrow('the disk is full');
  await store.close();
});
