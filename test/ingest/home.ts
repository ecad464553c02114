import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Dwelling, IncomingReading, New, QuarantineGroup, Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';

export const dwelling: New<Dwelling> = {
  slug: 'gable-cottage',
  name: 'Gable Cottage',
  zone: 'Europe/London',
  section: {
    pitchDeg: 40,
    slopeLengthMm: 1800,
    roomHeightMm: 2300,
    liningThicknessMm: 50,
    loftInsulationMm: 200,
    eavesGapMm: 25,
  },
};

export interface Home {
  readonly store: Store;
  readonly dwellingId: number;
  readonly path: string;
  close(): Promise<void>;
}

/** A real SQLite store in a folder of its own, with one dwelling. */
export async function openHome(): Promise<Home> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-ingest-'));
  const path = join(folder, 'coomb.db');
  const store = await openSqliteStore(path);
  const { id } = await store.addDwelling(dwelling);
  return {
    store,
    dwellingId: id,
    path,
    async close() {
      await store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

export type StoredReading = readonly [
  sensorKey: string,
  quantity: IncomingReading['quantity'],
  time: number,
  value: number,
];

/** Everything stored for a dwelling, by sensor, quantity and time. */
export async function everyReading(store: Store, dwellingId: number): Promise<StoredReading[]> {
  const keys = new Map((await store.sensors(dwellingId)).map(({ id, key }) => [id, key]));
  const rows: StoredReading[] = [];
  for (const column of await store.seriesColumns(dwellingId, 0, 8.64e15)) {
    const key = keys.get(column.sensorId)!;
    for (let i = 0; i < column.times.length; i++) {
      rows.push([key, column.quantity, column.times[i]!, column.values[i]!]);
    }
  }
  return rows.sort((a, b) => a[0].localeCompare(b[0]) || a[1].localeCompare(b[1]) || a[2] - b[2]);
}

export const quarantineCodes = async (store: Store): Promise<string[]> =>
  (await store.quarantineGroups(1000)).map(({ code }: QuarantineGroup) => code).sort();

/** A promise and its levers, to hold a real part at a chosen moment. */
export function gate(): { readonly opened: Promise<void>; open(): void } {
  let open = (): void => {};
  const opened = new Promise<void>((resolve) => {
    open = resolve;
  });
  return { opened, open };
}
