import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { keepHours } from '../store/hour-keeper.ts';
import type { IncomingReading, LastReading, Store } from '../store/port.ts';
import type { PackContents } from './scope.ts';
import type { PackedSeries } from './tables.ts';

/** Opens an empty store in a file. */
export type StoreOpener = (path: string) => Promise<Store>;

export interface Rebuilt {
  readonly store: Store;
  /** Closes it and removes its file. */
  close(): Promise<void>;
}

/** The same, each answer kept: figures, charts and report all ask for the same hours, and nothing changes them any more. */
function remembered(placeHours: Store['placeHours']): Store['placeHours'] {
  const known = new Map<string, ReturnType<Store['placeHours']>>();
  return (...asked) => {
    const key = asked.join();
    const answer = known.get(key) ?? placeHours(...asked);
    known.set(key, answer);
    return answer;
  };
}

/** Readings of the series of a pack, a page at a time. */
export type ReadingPages = (series: PackedSeries) => AsyncIterable<readonly Pick<LastReading, 'time' | 'value'>[]>;

/**
 * Makes a store of what is in a pack and nothing else, and works its hours out: the figures of a pack are of this store, so
 * that whoever has the pack can make it again.
 */
export async function rebuild(
  openStore: StoreOpener,
  contents: PackContents,
  pages: ReadingPages,
  onReadings: (readings: number) => void = () => {},
  onHours: (share: number) => void = () => {},
): Promise<Rebuilt> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-rebuilt-'));
  const remove = (): void => rmSync(folder, { recursive: true, force: true });
  try {
    const store = await openStore(join(folder, 'rebuilt.db'));
    try {
      const dwellingId = contents.dwelling.id;
      await store.restore(contents);
      const keyOf = new Map(contents.sensors.map(({ id, key }) => [id, key]));
      for (const series of contents.series) {
        const { quantity } = series;
        const sensorKey = keyOf.get(series.sensorId)!;
        for await (const page of pages(series)) {
          const readings = page.map(
            ({ time, value }): IncomingReading => ({
              dwellingId,
              sensorKey,
              quantity,
              time,
              value,
            }),
          );
          await store.append({ receivedAt: 0, readings, quarantined: [] });
          onReadings(page.length);
        }
      }
      await keepHours(store, { onProgress: ({ done, total }) => onHours(done / total), chunkHours: 24 * 7 });
      return {
        store: { ...store, placeHours: remembered(store.placeHours) },
        async close() {
          await store.close();
          remove();
        },
      };
    } catch (error) {
      await store.close();
      throw error;
    }
  } catch (error) {
    remove();
    throw error;
  }
}
