import { expect, test } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { createWatcher } from '../../server/watch/watcher.ts';
import { dwellingCalled } from '../store/contract/given.ts';

const HOMES = 12;
const SECOND = 1000;

test('processes that watch the same homes go round a part of them each, however long a round takes', async () => {
  const store = await openSqliteStore(':memory:');
  for (let k = 0; k < HOMES; k++) await store.addDwelling(dwellingCalled(`home-${k}`));
  // a look takes longer than the time between two rounds
  let now = Date.UTC(2026, 0, 10);
  const clock = (): number => now;
  const looks: { who: number; dwellingId: number }[] = [];
  const heard = [new Map<number, number>(), new Map<number, number>()];
  const watcher = (who: 0 | 1) =>
    createWatcher({
      store,
      clock,
      everyMs: 60 * SECOND,
      log: {
        error(detail) {
          throw (detail as { err: unknown }).err;
        },
      },
      findings: async () => [],
      nights: async () => [],
      troubles: () => [],
      latest: async () => [],
      onChanged() {},
      others: {
        lookedAt: heard[who]!,
        looked(dwellingId) {
          now += 90 * SECOND;
          looks.push({ who, dwellingId });
          heard[1 - who]!.set(dwellingId, now);
        },
        share: who / 2,
      },
    });
  const [first, second] = [watcher(0), watcher(1)];
  await Promise.all([first.look(), second.look()]);
  expect(looks.map(({ dwellingId }) => dwellingId).sort((a, b) => a - b)).toEqual(
    Array.from({ length: HOMES }, (_, k) => k + 1),
  );
  for (const who of [0, 1]) expect(looks.filter((look) => look.who === who).length).toBeGreaterThan(HOMES / 4);

  // alone, one looks at all of them
  now += 120 * SECOND;
  looks.length = 0;
  await first.look();
  expect(looks).toHaveLength(HOMES);
  expect(first.lastSeconds()).toBeGreaterThan(0);
  await Promise.all([first.close(), second.close()]);
  await store.close();
});
