import { expect, test } from 'vitest';
import { keepHours } from '../../server/store/hour-keeper.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { watchHome } from '../../server/watch/watcher.ts';
import { BEGIN, givenHome, HOUR, homeReadings } from './given-home.ts';

test('a first look at a home with a past gives other work its turn between any two things that take long', async () => {
  const store = await openSqliteStore(':memory:');
  const dwelling = await givenHome(store);
  const to = BEGIN + 7 * 24 * HOUR;
  await store.append({ receivedAt: to, readings: homeReadings(dwelling.id, BEGIN, to), quarantined: [] });
  await keepHours(store);
  let turns = 0;
  let watching = true;
  const other = (): void => {
    turns++;
    if (watching) setImmediate(other);
  };
  setImmediate(other);
  /** by hour, the turn of the loop in which something that takes long was worked out */
  const turnOf = new Map<number, number>();
  const long = async (_: unknown, time: number): Promise<[]> => {
    turnOf.set(time, turns);
    return [];
  };
  const parts = { store, clock: () => to, findings: long, nights: long, latest: async () => [], troubles: () => [] };
  await watchHome(parts, dwelling, new Map());
  watching = false;
  const inTurn = [...turnOf].sort(([a], [b]) => a - b).map(([, turn]) => turn);
  expect(inTurn.length).toBeGreaterThan(3);
  expect(new Set(inTurn).size).toBe(inTurn.length);
  await store.close();
});
