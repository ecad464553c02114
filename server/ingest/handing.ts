import type { Log } from './log.ts';
import type { Delivery, Intake } from './receiver.ts';
import type { Handed, Said, Taken } from './thread-words.ts';

/** Called back with null once a message is on disk, and with an error when it must be sent again. */
export type Settled = (error: Error | null) => void;

/** In the thread that hears messages: hands them over, and learns what became of them. */
export interface Giver {
  give(topic: string, payload: Uint8Array, delivery: Delivery, settled: Settled): void;
  hear(word: Taken): void;
}

/** Messages handed over together: the program begins with these while the thread still reads more. */
const MOST_TOGETHER = 200;

/** Messages of one turn of the loop are handed over together. */
export function createGiver(say: (word: Handed, transferred: ArrayBuffer[]) => void): Giver {
  const waiting = new Map<number, Settled>();
  let first = 0;
  let topics: string[] = [];
  let deliveries: Delivery[] = [];
  let payloads: Uint8Array[] = [];

  function handOver(): void {
    if (topics.length === 0) return;
    let end = 0;
    const ends = payloads.map((payload) => {
      end += payload.length;
      return end;
    });
    const together = new Uint8Array(end);
    for (let k = 0; k < payloads.length; k++) together.set(payloads[k]!, k === 0 ? 0 : ends[k - 1]!);
    say({ kind: 'messages', first, topics, deliveries, ends, payloads: together }, [together.buffer]);
    first += topics.length;
    topics = [];
    deliveries = [];
    payloads = [];
  }

  function settle(number: number, error: Error | null): void {
    const settled = waiting.get(number)!;
    waiting.delete(number);
    settled(error);
  }

  return {
    give(topic, payload, delivery, settled) {
      if (topics.length === 0) setImmediate(handOver);
      waiting.set(first + topics.length, settled);
      topics.push(topic);
      deliveries.push(delivery);
      payloads.push(payload);
      if (topics.length === MOST_TOGETHER) handOver();
    },
    hear({ numbers, refused }) {
      for (const number of numbers) settle(number, null);
      for (const [number, reason] of refused) settle(number, new Error(reason));
    },
  };
}

/** In the thread: a log whose lines the program writes. */
export const logInto = (say: (word: Said) => void): Log => ({
  info: (detail, message) => say({ kind: 'log', level: 'info', detail, message }),
  warn: (detail, message) => say({ kind: 'log', level: 'warn', detail, message }),
});

/** In the program: gives the receiver what was handed over, and tells the thread what was taken before the next is stored. */
export function createTaker(receiver: Pick<Intake, 'receive'>, say: (word: Taken) => void): (word: Handed) => void {
  let numbers: number[] = [];
  let refused: [number, string][] = [];

  function tellSoon(): void {
    if (numbers.length + refused.length > 1) return;
    process.nextTick(() => {
      say({ kind: 'taken', numbers, refused });
      numbers = [];
      refused = [];
    });
  }

  function take(number: number, topic: string, payload: Uint8Array, delivery: Delivery): void {
    receiver.receive('mqtt', topic, payload, delivery).then(
      () => {
        numbers.push(number);
        tellSoon();
      },
      (error: unknown) => {
        refused.push([number, error instanceof Error ? error.message : String(error)]);
        tellSoon();
      },
    );
  }

  return ({ first, topics, deliveries, ends, payloads }) => {
    let start = 0;
    for (let k = 0; k < topics.length; k++) {
      const end = ends[k]!;
      take(first + k, topics[k]!, payloads.subarray(start, end), deliveries[k]!);
      start = end;
    }
  };
}
