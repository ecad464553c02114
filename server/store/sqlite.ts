import { statfsSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import type { Store } from './port.ts';
import { speakingOfStores } from './speaking-of-stores.ts';
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
import { portfolioStore } from './sqlite/portfolio.ts';
import { quarantineStore } from './sqlite/quarantine.ts';
import { readingStore } from './sqlite/readings.ts';
import { restoreStore } from './sqlite/restore.ts';
import { provenanceStore } from './sqlite/seals.ts';
import { seriesFinder } from './sqlite/series-finder.ts';
import { shareStore } from './sqlite/shares.ts';

/**
 * Opens the store in an SQLite file, making it or bringing its schema up to date as needed. `:memory:` keeps nothing.
 *
 * @param waitMs longest wait for another process that writes, ms
 * @throws StoreError `newer-schema` when the file was written by a newer program, `busy`, `read-only`, `full`, or
 * `failed` when the file is not a database or cannot be opened
 */
export const openSqliteStore = (path: string, waitMs?: number): Promise<Store> => open(path, 'FULL', waitMs);

async function open(path: string, synchronous: 'FULL' | 'OFF', waitMs?: number): Promise<Store> {
  try {
    const db = connect(path, waitMs);
    try {
      db.pragma(`synchronous = ${synchronous}`);
      return storeOn(db);
    } catch (error) {
      db.close();
      throw error;
    }
  } catch (error) {
    // the first thing that a full disk has no room for is the index of the log, and that is an I/O error to the engine
    throw toStoreError(isFullDisk(error, path) ? new Database.SqliteError('no room', 'SQLITE_FULL') : error);
  }
}

/**
 * Opens a store that is thrown away after use: it waits for no disk, and what a power cut leaves of it is worth nothing.
 *
 * @throws StoreError as {@link openSqliteStore}
 */
export const openPassingStore = (path: string): Promise<Store> => open(path, 'OFF');

/** Less than this is no room for anything, bytes. */
const NO_ROOM = 64 << 10;

function isFullDisk(error: unknown, path: string): boolean {
  if (!(error instanceof Database.SqliteError && error.code.startsWith('SQLITE_IOERR'))) return false;
  const { bavail, bsize } = statfsSync(dirname(path));
  return bavail * bsize < NO_ROOM;
}

/** The store on a connection, its schema brought up to date first. */
export function storeOn(db: Connection): Store {
  migrate(db);
  const series = seriesFinder(db);
  const arrivals = arrivalKeeper(db);
  return {
    ...speakingOfStores(dwellingStore(db, series), toStoreError),
    ...speakingOfStores(exampleStore(db, series, addDwelling(db)), toStoreError),
    ...speakingOfStores(photoStore(db), toStoreError),
    ...speakingOfStores(calibrationStore(db), toStoreError),
    ...speakingOfStores(mappingStore(db), toStoreError),
    ...speakingOfStores(readingStore(db, series, arrivals), toStoreError),
    ...speakingOfStores(hourStore(db), toStoreError),
    ...speakingOfStores(quarantineStore(db), toStoreError),
    ...speakingOfStores(buildUpStore(db), toStoreError),
    ...speakingOfStores(outboxStore(db), toStoreError),
    ...speakingOfStores(forecastStore(db), toStoreError),
    ...speakingOfStores(accessStore(db), toStoreError),
    ...speakingOfStores(shareStore(db), toStoreError),
    ...speakingOfStores(provenanceStore(db, arrivals), toStoreError),
    ...speakingOfStores(noticeStore(db), toStoreError),
    ...speakingOfStores(portfolioStore(db), toStoreError),
    ...speakingOfStores(restoreStore(db), toStoreError),
    async close() {
      db.close();
    },
  };
}
