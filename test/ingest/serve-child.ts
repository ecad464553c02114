/**
 * A coomb that only takes readings in, as a process of its own so that a test can kill it: the store at argv[2], and
 * either `embedded` or the URL of an external broker. Prints one line when it is ready.
 */
import { brokerOptions, openBroker } from '../../server/ingest/broker.ts';
import { subscriberOptions, subscribeTo } from '../../server/ingest/mqtt.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createWriter } from '../../server/ingest/writer.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';

const [path, from] = process.argv.slice(2) as [string, string];
const store = await openSqliteStore(path);
const receiver = createReceiver(store, createWriter(store), Date.now);
if (from === 'embedded') {
  const broker = await openBroker(receiver, { ...brokerOptions, port: 0 });
  console.log(`ready ${broker.port}`);
} else {
  const subscriber = subscribeTo(receiver, { ...subscriberOptions, url: from }, Date.now);
  while (!subscriber.state().connected) await new Promise((resolve) => setTimeout(resolve, 5));
  console.log('ready');
}
