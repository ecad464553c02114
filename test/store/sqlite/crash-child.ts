/**
 * Appends batches to the store at the path given until it is killed, and prints the number of a batch only once it is
 * acknowledged. Started by crash.test.ts.
 */
import { writeSync } from 'node:fs';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { BATCH_SIZE, batchOf } from './crash-batch.ts';

const store = await openSqliteStore(process.argv[2]!);
for (let k = Number(process.argv[3]); ; k++) {
  const outcome = await store.append(batchOf(k));
  if (outcome.stored !== BATCH_SIZE) throw new Error(`batch ${k}: ${JSON.stringify(outcome)}`);
  writeSync(1, `${k}\n`);
}
