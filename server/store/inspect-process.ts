/**
 * Reads a store through, in a process of its own with the lowest claim on the machine, and says what is damaged. Started
 * by start-inspection.ts.
 */
import { setPriority } from 'node:os';
import { inspectStoreAt, type StorePlace } from './engine.ts';

const NICE = 19;

export type InspectReply =
  | { readonly kind: 'done'; readonly damage: readonly string[] }
  | { readonly kind: 'failed'; readonly message: string };

try {
  setPriority(NICE);
} catch {
  // a system that does not let us be nice is none the worse for it
}

process.on('message', async (place: StorePlace) => {
  process.send!(await carryOut(place), () => process.disconnect());
});
process.on('disconnect', () => process.exit());

async function carryOut(place: StorePlace): Promise<InspectReply> {
  try {
    return { kind: 'done', damage: (await inspectStoreAt(place, 'quick'))?.damage ?? [] };
  } catch (error) {
    return { kind: 'failed', message: error instanceof Error ? error.message : String(error) };
  }
}
