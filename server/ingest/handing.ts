import type { Log } from './log.ts';
import type { Delivery, Incoming, Intake } from './receiver.ts';
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
/** A lot is held and stored whole: beyond so many bytes the next message begins another. */
const LOT_BYTES = 256 << 10;

/** Messages of one turn of the loop are handed over together. */
export function createGiver(say: (word: Handed, transferred: ArrayBuffer[]) => void): Giver {
  const waiting = new Map<number, Settled[]>();
  let lot = 0;
  let topics: string[] = [];
  let retained: number[] = [];
  let payloads: Uint8Array[] = [];
  let ends: number[] = [];
  let settlings: Settled[] = [];
  let bytes = 0;

  function handOver(): void {
    if (topics.length === 0) return;
    const together = new Uint8Array(bytes);
    for (let k = 0; k < payloads.length; k++) together.set(payloads[k]!, k === 0 ? 0 : ends[k - 1]!);
    waiting.set(lot, settlings);
    say({ kind: 'messages', lot, topics, retained, ends, payloads: together }, [together.buffer]);
    lot++;
    topics = [];
    retained = [];
    payloads = [];
    ends = [];
    settlings = [];
    bytes = 0;
  }

  return {
    give(topic, payload, delivery, settled) {
      if (topics.length === 0) setImmediate(handOver);
      if (delivery === 'retained') retained.push(topics.length);
      topics.push(topic);
      payloads.push(payload);
      bytes += payload.length;
      ends.push(bytes);
      settlings.push(settled);
      if (topics.length === MOST_TOGETHER || bytes >= LOT_BYTES) handOver();
    },
    hear(taken) {
      const settled = waiting.get(taken.lot)!;
      waiting.delete(taken.lot);
      const refused = new Map(taken.refused);
      for (let k = 0; k < settled.length; k++) {
        const reason = refused.get(k);
        settled[k]!(reason === undefined ? null : new Error(reason));
      }
    },
  };
}

/** In the thread: a log whose lines the program writes. */
export const logInto = (say: (word: Said) => void): Log => ({
  info: (detail, message) => say({ kind: 'log', level: 'info', detail, message }),
  warn: (detail, message) => say({ kind: 'log', level: 'warn', detail, message }),
});

/** In the program: gives the receiver what was handed over, and tells the thread what became of it. */
export function createTaker(
  receiver: Pick<Intake, 'receiveAll'>,
  say: (word: Taken) => void,
): (word: Handed) => Promise<void> {
  return async ({ lot, topics, retained, ends, payloads }) => {
    const incoming = topics.map((topic, k): Incoming => {
      const start = k === 0 ? 0 : ends[k - 1]!;
      return { topic, payload: Buffer.from(payloads.buffer, start, ends[k]! - start), delivery: 'live' };
    });
    for (const k of retained) incoming[k] = { ...incoming[k]!, delivery: 'retained' };
    const outcomes = await receiver.receiveAll('mqtt', incoming);
    say({
      kind: 'taken',
      lot,
      refused: outcomes.flatMap((outcome, k) => (outcome instanceof Error ? [[k, outcome.message] as const] : [])),
    });
  };
}
