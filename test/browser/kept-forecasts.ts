import { DateTime } from 'luxon';
import { loadSample } from '../../server/commands/sample.ts';
import { readConfig } from '../../server/config.ts';
import { openStore, sampleFolder } from '../../server/main.ts';
import { createForecastKeeper } from '../../server/watch/forecast-keeper.ts';

/**
 * Loads the sample home into a folder and keeps the forecasts of a row of its nights, as the program does when it runs on
 * those evenings.
 */
export async function keepSampleForecasts(dataFolder: string, first: string, nights: number): Promise<void> {
  const store = await openStore(readConfig({}, { dataFolder }));
  try {
    const { zone } = await loadSample(store, sampleFolder, () => undefined);
    let now = 0;
    const fail = (detail: object, message: string): never => {
      throw new Error(message, { cause: detail });
    };
    const keeper = createForecastKeeper({ store, clock: () => now, log: { error: fail } });
    for (let k = 0; k < nights; k++) {
      now = DateTime.fromISO(first, { zone }).plus({ days: k }).set({ hour: 18, minute: 20 }).toMillis();
      await keeper.keepDue();
    }
    await keeper.close();
  } finally {
    await store.close();
  }
}
