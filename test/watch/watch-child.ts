/**
 * Watches the only home of a data folder as at a time, and is killed before or after its first writing when told so.
 * Started by live.test.ts.
 */
import { findingsAt } from '../../server/api/sensor-health.ts';
import { readConfig } from '../../server/config.ts';
import { openStore } from '../../server/main.ts';
import { nightsAhead } from '../../server/watch/nights-ahead.ts';
import { watchHome } from '../../server/watch/watcher.ts';

const [, , folder, now, way] = process.argv;
const store = await openStore(readConfig({}, { dataFolder: folder! }));
const [dwelling] = await store.dwellings();
const die = (): void => {
  process.kill(process.pid, 'SIGKILL');
};
const watched: typeof store = {
  ...store,
  async recordNotices(...given) {
    if (way === 'before-record') die();
    await store.recordNotices(...given);
    if (way === 'after-record') die();
  },
};
const progress = await store.watchProgress(dwelling!.id);
const days = [4, 3, 2, 1, 0].map((back) => Number(now) - back * 24 * 3_600_000);
// a day that was written down is not lived again
for (const time of days.filter((day) => progress.evaluatedTo === null || day - 2 * 3_600_000 > progress.evaluatedTo)) {
  await watchHome(
    {
      store: watched,
      clock: () => time,
      findings: (home, at) => findingsAt(store, home, at),
      nights: (home, at) => nightsAhead(store, home, at),
      latest: async () => [],
      troubles: () => [],
    },
    dwelling!,
    new Map(),
  );
}
await store.close();
