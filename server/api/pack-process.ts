import { buildPack, type PackMade, type PackProgress } from '../evidence/build.ts';
import { type ReportChoice, reportMembers } from '../evidence/report/members.ts';
import type { PackScope } from '../evidence/scope.ts';
import { openStoreAt, type StorePlace } from '../store/engine.ts';
import { openPassingStore } from '../store/sqlite.ts';

/** What the process is asked for, once. */
export interface PackOrder {
  readonly place: StorePlace;
  readonly dataFolder: string;
  readonly version: string;
  readonly now: number;
  readonly scope: PackScope;
  readonly report: ReportChoice;
  readonly file: string;
}

/** What it says while it works, and last. */
export type PackWord =
  | { readonly kind: 'progress'; readonly progress: PackProgress }
  | { readonly kind: 'made'; readonly made: PackMade }
  | { readonly kind: 'failed'; readonly message: string };

const say = (word: PackWord): void => {
  process.send?.(word);
};

process.once('message', async (order: PackOrder) => {
  const { place, scope, report, file, ...parts } = order;
  let last = 0;
  try {
    const store = await openStoreAt(place);
    const made = await buildPack(
      {
        store,
        openStore: openPassingStore,
        ...parts,
        report: (given) => reportMembers(report, given),
        onProgress(progress) {
          const at = performance.now();
          if (at - last < 100) return;
          last = at;
          say({ kind: 'progress', progress });
        },
      },
      scope,
      file,
    );
    await store.close();
    say({ kind: 'made', made });
  } catch (error) {
    say({ kind: 'failed', message: (error as Error).message });
  }
  process.disconnect();
});
// the program that asked has gone
process.on('disconnect', () => process.exit());
