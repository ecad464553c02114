/**
 * A process that writes: opens the store named by its argument, prints `ready`, and keeps every batch that comes in, a line
 * of JSON each, answering with what became of it.
 */
import { createInterface } from 'node:readline';
import type { Batch } from '../../../server/store/port.ts';
import { openPostgresStore } from '../../../server/store/postgres.ts';

const store = await openPostgresStore({ url: process.argv[2]!, connections: 2 });
console.log('ready');
for await (const line of createInterface({ input: process.stdin })) {
  console.log(JSON.stringify(await store.append(JSON.parse(line) as Batch)));
}
await store.close();
