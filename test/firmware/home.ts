import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fullAccount } from '../../server/ingest/account.ts';
import { type Broker, brokerOptions, openBroker } from '../../server/ingest/broker.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createWriter } from '../../server/ingest/writer.ts';
import type { Quantity } from '../../server/physics/quantities.ts';
import type { Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';

export const account = { username: 'sensors', password: 'a long password used nowhere else' };
export const DWELLING = 'larch-cottage';

/** The receiving end as it runs in a home: broker, receiver, writer and a database file. */
export interface Home {
  readonly broker: Broker;
  readonly store: Store;
  /** a folder that goes with the home */
  readonly folder: string;
  /** the home's clock, UTC ms, which goes on a second with every message */
  setTime(now: number): void;
  /** readings of one series by time, UTC ms */
  readings(sensor: string, quantity: Quantity): Promise<ReadonlyMap<number, number>>;
  /** rows in quarantine and conflicts: what should not have happened */
  trouble(): Promise<readonly string[]>;
  close(): Promise<void>;
}

export async function openHome(receivedAt: number): Promise<Home> {
  const folder = await mkdtemp(join(tmpdir(), 'coomb-firmware-'));
  const store = await openSqliteStore(join(folder, 'coomb.db'));
  const { id } = await store.addDwelling({
    slug: DWELLING,
    name: 'Larch Cottage',
    zone: 'Europe/London',
    section: {
      pitchDeg: 40,
      slopeLengthMm: 1200,
      roomHeightMm: 2300,
      liningThicknessMm: 40,
      loftInsulationMm: 270,
      eavesGapMm: 25,
    },
  });
  let now = receivedAt;
  const writer = createWriter(store);
  const receiver = createReceiver(store, writer, () => {
    now += 1000;
    return now;
  });
  const broker = await openBroker(receiver, {
    ...brokerOptions,
    port: 0,
    accounts: () => [fullAccount(account.username, account.password)],
  });
  return {
    broker,
    store,
    folder,
    setTime(time) {
      now = time;
    },
    async readings(sensor, quantity) {
      const sensors = await store.sensors(id);
      const sensorId = sensors.find(({ key }) => key === sensor)?.id;
      const series = (await store.series(id)).find((one) => one.sensorId === sensorId && one.quantity === quantity);
      if (series === undefined) return new Map();
      const rows = await store.readings(id, series.id, 0, Number.MAX_SAFE_INTEGER, 1_000_000);
      return new Map(rows.map(({ time, value }) => [time, value]));
    },
    async trouble() {
      const conflicts = await store.conflicts(id, 100);
      const quarantined = await store.quarantineGroups(100);
      return [
        ...conflicts.map((conflict) => `conflict ${JSON.stringify(conflict)}`),
        ...quarantined.map(({ topic, message }) => `quarantine ${topic}: ${message}`),
      ];
    },
    async close() {
      await broker.close();
      await writer.close();
      await store.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
