import type { QuarantineRow, QuarantineStore } from '../store/port.ts';
import { RETAINED, type Receiver } from './receiver.ts';
import type { UnderstoodReading } from './understand.ts';
import type { Writer } from './writer.ts';

/** What came of looking at the quarantine again. */
export interface Reread {
  /** messages that are understood now, and the readings they held */
  readonly messages: number;
  readonly readings: number;
  /** messages that stay in quarantine, of those looked at */
  readonly left: number;
}

export interface Rereader {
  /**
   * Reads in every message in quarantine that is understood by now, each with the time it was received where it
   * carries none, and marks it in the commit that holds its readings. Doing it twice does nothing more. One run at a
   * time: a call during a run waits for it and runs after it.
   */
  run(): Promise<Reread>;
  close(): Promise<void>;
}

/** The readings of a message in quarantine that count: a retained one is no new reading unless it says its time. */
export const usableReadings = (readings: readonly UnderstoodReading[], source: string): readonly UnderstoodReading[] =>
  source === RETAINED ? readings.filter(({ stamped }) => stamped === 'by-device') : readings;

const PAGE_TOPICS = 100;
const PAGE_MESSAGES = 200;

export function createRereader(
  store: Pick<QuarantineStore, 'unresolvedTopics' | 'unresolved'>,
  receiver: Pick<Receiver, 'read'>,
  writer: Pick<Writer, 'write' | 'room'>,
  clock: () => number,
): Rereader {
  let last: Promise<unknown> = Promise.resolve();
  let closing = false;

  /** Begins to store what a message says and resolves to that, or to null when it stays where it is. */
  async function readIn(row: QuarantineRow): Promise<{ readings: number; stored: Promise<void> } | null> {
    const { source, topic, payload, receivedAt } = row;
    const understood = await receiver.read(topic, payload, receivedAt);
    if (understood.kind === 'rejected') return null;
    // its good readings came in at once, and the rest is still as bad
    if (understood.fault !== null && understood.fault.code === row.code) return null;
    const usable = usableReadings(understood.readings, source);
    await writer.room();
    const stored = writer.write({
      source,
      topic,
      payload,
      receivedAt,
      readings: usable.map(({ dwellingId, sensorKey, quantity, time, value }) => ({
        dwellingId,
        sensorKey,
        quantity,
        time,
        value,
      })),
      fault: understood.fault,
      resolves: { id: row.id, at: clock() },
    });
    // looked at with the rest of the page
    stored.catch(() => {});
    return { readings: usable.length, stored };
  }

  async function everything(): Promise<Reread> {
    let messages = 0;
    let readings = 0;
    let left = 0;
    for (let after = ''; !closing; ) {
      const topics = await store.unresolvedTopics(after, PAGE_TOPICS);
      if (topics.length === 0) break;
      for (const topic of topics) {
        for (let afterId = 0; !closing; ) {
          const rows = await store.unresolved(topic, afterId, PAGE_MESSAGES);
          if (rows.length === 0) break;
          const storing: Promise<void>[] = [];
          for (const row of rows) {
            const begun = await readIn(row);
            if (begun === null) {
              left++;
              continue;
            }
            storing.push(begun.stored);
            messages++;
            readings += begun.readings;
          }
          await Promise.all(storing);
          afterId = rows.at(-1)!.id;
        }
      }
      after = topics.at(-1)!;
    }
    return { messages, readings, left };
  }

  return {
    run() {
      const run = last.then(everything);
      last = run.catch(() => {});
      return run;
    },
    async close() {
      closing = true;
      await last;
    },
  };
}
