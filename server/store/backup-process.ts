import { setPriority } from 'node:os';
import { StoreError } from './port.ts';
import type { Backup, BackupOrder } from './port-backup.ts';
import { writeBackup } from './sqlite/backup.ts';

/** What came of an order. */
export type BackupReply =
  | { readonly kind: 'done'; readonly backup: Backup }
  | { readonly kind: 'failed'; readonly fault: StoreError['fault']; readonly message: string };

/** Readings and pages come first. */
const NICE = 10;
try {
  setPriority(NICE);
} catch {
  // a system that does not let us be nice is none the worse for it
}

process.on('message', async (order: BackupOrder) => {
  process.send!(await carryOut(order), () => process.disconnect());
});
// the program that asked has gone: what is unfinished is removed by the next backup
process.on('disconnect', () => process.exit());

async function carryOut(order: BackupOrder): Promise<BackupReply> {
  try {
    return { kind: 'done', backup: await writeBackup(order) };
  } catch (error) {
    const fault = error instanceof StoreError ? error.fault : 'failed';
    return { kind: 'failed', fault, message: error instanceof Error ? error.message : String(error) };
  }
}
