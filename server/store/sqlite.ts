import type { Store } from './port.ts';
import { accessStore } from './sqlite/access.ts';
import { arrivalKeeper } from './sqlite/arrivals.ts';
import { buildUpStore } from './sqlite/build-ups.ts';
import { calibrationStore } from './sqlite/calibrations.ts';
import { type Connection, connect, toStoreError } from './sqlite/database.ts';
import { addDwelling, dwellingStore } from './sqlite/dwellings.ts';
import { exampleStore } from './sqlite/examples.ts';
import { forecastStore } from './sqlite/forecasts.ts';
import { hourStore } from './sqlite/hours.ts';
import { mappingStore } from './sqlite/mappings.ts';
import { migrate } from './sqlite/migrations.ts';
import { noticeStore } from './sqlite/notices.ts';
import { outboxStore } from './sqlite/outbox.ts';
import { photoStore } from './sqlite/photos.ts';
import { quarantineStore } from './sqlite/quarantine.ts';
import { readingStore } from './sqlite/readings.ts';
import { restoreStore } from './sqlite/restore.ts';
import { provenanceStore } from './sqlite/seals.ts';
import { seriesFinder } from './sqlite/series-finder.ts';
import { shareStore } from './sqlite/shares.ts';

/**
 * Opens the store in an SQLite file, making it or bringing its schema up to date as needed. `:memory:` keeps nothing.
 *
 * @throws StoreError `newer-schema` when the file was written by a newer program, `busy`, `read-only`, `full`, or
 * `failed` when the file is not a database or cannot be opened
 */
export async function openSqliteStore(path: string): Promise<Store> {
  try {
    const db = connect(path);
    try {
      return storeOn(db);
    } catch (error) {
      db.close();
      throw error;
    }
  } catch (error) {
    throw toStoreError(error);
  }
}

/** The store on a connection, its schema brought up to date first. */
export function storeOn(db: Connection): Store {
  migrate(db);
  const series = seriesFinder(db);
  const arrivals = arrivalKeeper(db);
  return {
    ...speakingOfStores(dwellingStore(db, series)),
    ...speakingOfStores(exampleStore(db, series, addDwelling(db))),
    ...speakingOfStores(photoStore(db)),
    ...speakingOfStores(calibrationStore(db)),
    ...speakingOfStores(mappingStore(db)),
    ...speakingOfStores(readingStore(db, series, arrivals)),
    ...speakingOfStores(hourStore(db)),
    ...speakingOfStores(quarantineStore(db)),
    ...speakingOfStores(buildUpStore(db)),
    ...speakingOfStores(outboxStore(db)),
    ...speakingOfStores(forecastStore(db)),
    ...speakingOfStores(accessStore(db)),
    ...speakingOfStores(shareStore(db)),
    ...speakingOfStores(provenanceStore(db, arrivals)),
    ...speakingOfStores(noticeStore(db)),
    ...speakingOfStores(restoreStore(db)),
    async close() {
      db.close();
    },
  };
}

/** The same methods, with the engine's errors turned into the port's. */
function speakingOfStores<T extends object>(methods: T): T {
  const wrapped = Object.entries(methods as Record<string, (...given: unknown[]) => Promise<unknown>>).map(
    ([name, method]) => [
      name,
      (...given: unknown[]) =>
        method(...given).catch((error: unknown) => {
          throw toStoreError(error);
        }),
    ],
  );
  return Object.fromEntries(wrapped) as T;
}
