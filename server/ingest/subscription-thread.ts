/** The thread that listens to an external broker. */
import { parentPort, workerData } from 'node:worker_threads';
import { createGiver, logInto } from './handing.ts';
import { openSubscription } from './subscription.ts';
import type { FromSubscription, ToSubscription } from './thread-words.ts';

const port = parentPort!;
const say = (word: FromSubscription, transferred: ArrayBuffer[] = []): void => port.postMessage(word, transferred);
const giver = createGiver(say);
let room: Promise<void> | null = null;
let roomIsThere: () => void = () => {};

const subscription = openSubscription(
  {
    take: giver.give,
    room: () => room,
    changed: (state) => say({ kind: 'state', state }),
  },
  workerData,
  logInto(say),
);

port.on('message', async (word: ToSubscription) => {
  switch (word.kind) {
    case 'taken':
      giver.hear(word);
      return;
    case 'room':
      if (word.isThere) {
        room = null;
        roomIsThere();
      } else {
        room = new Promise((resolve) => {
          roomIsThere = resolve;
        });
      }
      return;
    case 'leave':
      await subscription.leave();
      say({ kind: 'left' });
      return;
    case 'close':
      await subscription.close();
      port.close();
      return;
  }
});
