import { unfinishedIn, unfinishedMove } from './moving/unfinished.ts';
import { type Store, StoreError } from './port.ts';
import { accessStore } from './postgres/access.ts';
import { buildUpStore } from './postgres/build-ups.ts';
import { calibrationStore } from './postgres/calibrations.ts';
import { type ConnectOptions, connect, type Database } from './postgres/database.ts';
import { dwellingStore } from './postgres/dwellings.ts';
import { toStoreError } from './postgres/errors.ts';
import { exampleStore } from './postgres/examples.ts';
import { forecastStore } from './postgres/forecasts.ts';
import { hourStore } from './postgres/hours.ts';
import { mappingStore } from './postgres/mappings.ts';
import { migrate } from './postgres/migrations.ts';
import { noticeStore } from './postgres/notices.ts';
import { onboardStore } from './postgres/onboarding.ts';
import { outboxStore } from './postgres/outbox.ts';
import { partitionKeeper } from './postgres/partitions.ts';
import { photoStore } from './postgres/photos.ts';
import { portfolioStore } from './postgres/portfolio.ts';
import { processStore } from './postgres/processes.ts';
import { quarantineStore } from './postgres/quarantine.ts';
import { readingStore } from './postgres/readings.ts';
import { restoreStore } from './postgres/restore.ts';
import { provenanceStore } from './postgres/seals.ts';
import { shareStore } from './postgres/shares.ts';
import { speakingOfStores } from './speaking-of-stores.ts';

/** Connections that one process holds at most: enough for its writer, its keeper and some readers. */
const CONNECTIONS = 10;

/**
 * Opens the store in a PostgreSQL database of version 15 or newer, making the tables or bringing them up to date as needed.
 * The database itself must be there and be ours alone.
 *
 * @throws StoreError `newer-schema` when a newer program wrote the schema, `unreachable`, `busy`, `read-only`, or `failed`
 */
export async function openPostgresStore(
  options: Pick<ConnectOptions, 'url'> & Partial<ConnectOptions>,
): Promise<Store> {
  try {
    const db = connect({ connections: CONNECTIONS, ...options });
    try {
      await refuseOld(db);
      await migrate(db);
      if ((await db.first(unfinishedIn('pg_tables'))) !== undefined) throw unfinishedMove();
      return storeOn(db);
    } catch (error) {
      await db.close();
      throw error;
    }
  } catch (error) {
    throw toStoreError(error);
  }
}

/** The store in a database whose schema is up to date. */
export function storeOn(db: Database): Store {
  const partitions = partitionKeeper(db);
  const { close: leave, ...processes } = processStore(db);
  return {
    ...speakingOfStores(dwellingStore(db), toStoreError),
    ...speakingOfStores(calibrationStore(db), toStoreError),
    ...speakingOfStores(mappingStore(db), toStoreError),
    ...speakingOfStores(readingStore(db, partitions), toStoreError),
    ...speakingOfStores(hourStore(db, partitions), toStoreError),
    ...speakingOfStores(quarantineStore(db), toStoreError),
    ...speakingOfStores(provenanceStore(db), toStoreError),
    ...speakingOfStores(restoreStore(db), toStoreError),
    ...speakingOfStores(exampleStore(db), toStoreError),
    ...speakingOfStores(photoStore(db), toStoreError),
    ...speakingOfStores(buildUpStore(db), toStoreError),
    ...speakingOfStores(outboxStore(db), toStoreError),
    ...speakingOfStores(forecastStore(db), toStoreError),
    ...speakingOfStores(accessStore(db), toStoreError),
    ...speakingOfStores(shareStore(db), toStoreError),
    ...speakingOfStores(noticeStore(db), toStoreError),
    ...speakingOfStores(portfolioStore(db), toStoreError),
    ...speakingOfStores(onboardStore(db), toStoreError),
    ...speakingOfStores(processes, toStoreError),
    isShared: true,
    async close() {
      await leave();
      await db.close();
    },
  };
}

const OLDEST = 15;

async function refuseOld(db: Database): Promise<void> {
  const { version } = (await db.first<{ version: number }>(
    "SELECT current_setting('server_version_num')::int AS version",
  ))!;
  if (version >= OLDEST * 10_000) return;
  throw new StoreError(
    'failed',
    `The database server is PostgreSQL ${Math.floor(version / 10_000)}; ${OLDEST} or newer is needed.`,
  );
}
