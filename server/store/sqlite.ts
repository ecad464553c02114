import { statfsSync } from 'node:fs';
import { dirname } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { unfinishedIn, unfinishedMove } from './moving/unfinished.ts';
import type { Store } from './port.ts';
import { speakingOfStores } from './speaking-of-stores.ts';
import { accessStore } from './sqlite/access.ts';
import { arrivalKeeper } from './sqlite/arrivals.ts';
import { buildUpStore } from './sqlite/build-ups.ts';
import { calibrationStore } from './sqlite/calibrations.ts';
import { BUSY_TIMEOUT_MS, type Connection, connect, toStoreError } from './sqlite/database.ts';
import { addDwelling, dwellingStore } from './sqlite/dwellings.ts';
import { exampleStore } from './sqlite/examples.ts';
import { forecastStore } from './sqlite/forecasts.ts';
import { hourStore } from './sqlite/hours.ts';
import { mappingStore } from './sqlite/mappings.ts';
import { migrate } from './sqlite/migrations.ts';
import { noticeStore } from './sqlite/notices.ts';
import { onboardStore } from './sqlite/onboarding.ts';
import { outboxStore } from './sqlite/outbox.ts';
import { photoStore } from './sqlite/photos.ts';
import { portfolioStore } from './sqlite/portfolio.ts';
import { processStore } from './sqlite/processes.ts';
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
export const openSqliteStore = (path: string): Promise<Store> => open(path, 'FULL');

async function open(path: string, synchronous: 'FULL' | 'OFF'): Promise<Store> {
  try {
    const db = connect(path);
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

/**
 * The store on a connection, its schema brought up to date first.
 *
 * @param waitMs longest wait for another process that writes, ms
 */
export function storeOn(db: Connection, waitMs = BUSY_TIMEOUT_MS): Store {
  migrate(db);
  if (db.prepare(unfinishedIn('sqlite_schema')).get() !== undefined) throw unfinishedMove();
  const patient = patientOn(db, waitMs);
  const series = seriesFinder(db);
  const arrivals = arrivalKeeper(db);
  return {
    ...speakingOfStores(patient(dwellingStore(db, series)), toStoreError),
    ...speakingOfStores(patient(exampleStore(db, series, addDwelling(db))), toStoreError),
    ...speakingOfStores(patient(photoStore(db)), toStoreError),
    ...speakingOfStores(patient(calibrationStore(db)), toStoreError),
    ...speakingOfStores(patient(mappingStore(db)), toStoreError),
    ...speakingOfStores(patient(readingStore(db, series, arrivals)), toStoreError),
    ...speakingOfStores(patient(hourStore(db)), toStoreError),
    ...speakingOfStores(patient(quarantineStore(db)), toStoreError),
    ...speakingOfStores(patient(buildUpStore(db)), toStoreError),
    ...speakingOfStores(patient(outboxStore(db)), toStoreError),
    ...speakingOfStores(patient(forecastStore(db)), toStoreError),
    ...speakingOfStores(patient(accessStore(db)), toStoreError),
    ...speakingOfStores(patient(shareStore(db)), toStoreError),
    ...speakingOfStores(patient(provenanceStore(db, arrivals)), toStoreError),
    ...speakingOfStores(patient(noticeStore(db)), toStoreError),
    ...speakingOfStores(patient(portfolioStore(db)), toStoreError),
    ...speakingOfStores(patient(onboardStore(db)), toStoreError),
    ...speakingOfStores(patient(restoreStore(db)), toStoreError),
    // not patient: a task that was begun is never begun again
    ...speakingOfStores(processStore(), toStoreError),
    isShared: false,
    async close() {
      db.close();
    },
  };
}

/** The engine's own wait for a lock, ms: nothing else in this process goes on meanwhile. */
const STANDSTILL_MS = 100;
const BETWEEN_TRIES_MS = 50;

/**
 * Makes of methods the same ones, tried again while another process has the database locked, with turns for other work in
 * between. One that finds it locked has changed nothing. Once it was found locked nothing more stands still for it, or all
 * that waits would stand still in turn.
 */
function patientOn(db: Connection, waitMs: number): <T extends object>(methods: T) => T {
  const standStillFor = (ms: number): void => void db.pragma(`busy_timeout = ${ms}`);
  const standstillMs = Math.min(waitMs, STANDSTILL_MS);
  standStillFor(standstillMs);
  const isLocked = (error: unknown): boolean =>
    error instanceof Database.SqliteError && error.code.startsWith('SQLITE_BUSY');

  async function tryAgain(method: (...given: unknown[]) => Promise<unknown>, given: unknown[]): Promise<unknown> {
    const giveUpAt = performance.now() + waitMs;
    for (let tries = 0; ; tries++) {
      try {
        const result = await method(...given);
        if (tries > 0) standStillFor(standstillMs);
        return result;
      } catch (error) {
        if (!isLocked(error) || performance.now() > giveUpAt) throw error;
        standStillFor(0);
        await setTimeout(BETWEEN_TRIES_MS);
      }
    }
  }

  return <T extends object>(methods: T) =>
    Object.fromEntries(
      Object.entries(methods as Record<string, (...given: unknown[]) => Promise<unknown>>).map(([name, method]) => [
        name,
        (...given: unknown[]) => tryAgain(method, given),
      ]),
    ) as T;
}
