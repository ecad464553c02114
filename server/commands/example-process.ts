import { openStoreAt, type StorePlace } from '../store/engine.ts';
import { fillToNow, loadSample, type SampleStep } from './sample.ts';

/** What is to be loaded, from where, into which database. */
export interface ExampleOrder {
  readonly place: StorePlace;
  readonly folder: string;
}

export type ExampleReport =
  | { readonly kind: 'progress'; readonly step: SampleStep; readonly share: number }
  | { readonly kind: 'done' }
  | { readonly kind: 'failed'; readonly reason: string };

process.on('message', async ({ place, folder }: ExampleOrder) => {
  const last = await load(place, folder);
  process.send!(last, () => process.exit());
});
// the program that asked has gone
process.on('disconnect', () => process.exit());

async function load(place: StorePlace, folder: string): Promise<ExampleReport> {
  try {
    const store = await openStoreAt(place);
    const progress = (step: SampleStep, share: number): void => {
      process.send!({ kind: 'progress', step, share } satisfies ExampleReport);
    };
    const { id } = await loadSample(store, folder, progress);
    await fillToNow(store, id, progress);
    await store.close();
    return { kind: 'done' };
  } catch (error) {
    return { kind: 'failed', reason: (error as Error).message };
  }
}
