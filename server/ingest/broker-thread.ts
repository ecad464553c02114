/** The thread of the embedded broker. */
import { parentPort, workerData } from 'node:worker_threads';
import { openService } from './broker-service.ts';
import { createGiver, logInto } from './handing.ts';
import type { FromBroker, SignedIn, ToBroker } from './thread-words.ts';

const port = parentPort!;
const say = (word: FromBroker, transferred: ArrayBuffer[] = []): void => port.postMessage(word, transferred);
const giver = createGiver(say);
const asked = new Map<number, (as: SignedIn) => void>();
let asks = 0;

const service = await openService(
  {
    signIn: (username, password) =>
      new Promise((resolve) => {
        asked.set(asks, resolve);
        say({ kind: 'sign-in', ask: asks++, username, password });
      }),
    take: (topic, payload, settled) => giver.give(topic, payload, 'live', settled),
    happened: say,
  },
  workerData,
  logInto(say),
).catch((error: Error) => {
  say({ kind: 'not-listening', error });
  process.exit();
});

port.on('message', async (word: ToBroker) => {
  switch (word.kind) {
    case 'taken':
      giver.hear(word);
      return;
    case 'signed-in':
      asked.get(word.ask)!(word.as);
      asked.delete(word.ask);
      return;
    case 'expel-unknown':
      service.expelUnknown(new Set(word.usernames));
      return;
    case 'publish':
      service.publish(word.topic, word.payload);
      return;
    case 'close':
      await service.close();
      port.close();
      return;
  }
});
say({ kind: 'listening', port: service.port });
