import type { QuarantineRow, QuarantineStore } from '../store/port.ts';
import type { MessageReceiver, UnderstoodForecast } from './forecast-receiver.ts';
import { payloadLimits, type UnderstoodReading } from './payload.ts';
import { RETAINED } from './receiver.ts';
import { EARLIEST_TIME } from './timestamp.ts';
import type { Understanding } from './understand.ts';
import type { Message, Writer } from './writer.ts';

/** What came of looking at the quarantine again. */
export interface Reread {
  /** messages that are understood now, and the readings they held, or hours of outdoor forecasts */
  readonly messages: number;
  readonly readings: number;
  /** messages that stay in quarantine, of those looked at */
  readonly left: number;
}

/** Messages that came while this computer's clock stood back. */
export interface StoodBack {
  /** ids in quarantine, from after the one up to the other */
  readonly afterId: number;
  readonly untilId: number;
  /** by so much, ms */
  readonly behindMs: number;
}

export interface Rereader {
  /**
   * Reads in every message in quarantine that is understood by now, each with the time it was received where it
   * carries none, and marks it in the commit that holds its readings; an outdoor forecast is marked once it is kept.
   * Doing it twice does nothing more. One run at a time: a call during a run waits for it and runs after it.
   */
  run(): Promise<Reread>;
  /**
   * Reads in what was set aside only because this computer's clock stood back. A device is believed when one of these
   * messages says the time that the clock should have shown; one whose own clock is wrong stays in quarantine.
   */
  runStoodBack(messages: StoodBack): Promise<Reread>;
  close(): Promise<void>;
}

/** The readings of a message in quarantine that count: a retained one is no new reading unless it says its time. */
export const usableReadings = (readings: readonly UnderstoodReading[], source: string): readonly UnderstoodReading[] =>
  source === RETAINED ? readings.filter(({ stamped }) => stamped === 'by-device') : readings;

type IdRange = Pick<StoodBack, 'afterId' | 'untilId'>;
const EVERYTHING: IdRange = { afterId: 0, untilId: Number.MAX_SAFE_INTEGER };
const NOTHING: Reread = { messages: 0, readings: 0, left: 0 };
const PAGE_TOPICS = 100;
const PAGE_MESSAGES = 200;

export function createRereader(
  store: Pick<QuarantineStore, 'unresolvedTopics' | 'unresolved'>,
  receiver: Pick<MessageReceiver, 'read' | 'keepForecast'>,
  writer: Pick<Writer, 'write' | 'room'>,
  clock: () => number,
): Rereader {
  let last: Promise<unknown> = Promise.resolve();
  let closing = false;

  type Understood = Extract<Understanding, { kind: 'readings' }> | UnderstoodForecast;

  /** What a message means by now; null: no more than when it came. */
  async function readNow({ topic, payload, receivedAt, code }: QuarantineRow): Promise<Understood | null> {
    const understood = await receiver.read(topic, payload, receivedAt);
    if (understood.kind !== 'readings') return understood.kind === 'rejected' ? null : understood;
    // its good readings came in at once, and the rest is still as bad
    return understood.fault?.code === code ? null : understood;
  }

  /** What a message means by a clock that is right; null: no more than by the one that stood back. */
  async function readByRightClock(row: QuarantineRow, behindMs: number): Promise<Understood | null> {
    const { topic, payload, receivedAt } = row;
    const then = await receiver.read(topic, payload, receivedAt);
    const now = await receiver.read(topic, payload, receivedAt, behindMs);
    if (now.kind === 'rejected') return null;
    if (then.kind === 'rejected') return now;
    return then.kind === 'readings' && now.kind === 'readings' && now.readings.length > then.readings.length
      ? now
      : null;
  }

  /** Begins to store what a message in quarantine says. */
  async function readIn(
    row: QuarantineRow,
    understood: Understood,
    receivedAt: number,
  ): Promise<{ readings: number; stored: Promise<void> }> {
    const { source, topic, payload } = row;
    const isForecast = understood.kind === 'forecast';
    const usable = isForecast ? [] : usableReadings(understood.readings, source);
    if (isForecast) await receiver.keepForecast(understood);
    await writer.room();
    const message: Message = {
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
      fault: isForecast ? null : understood.fault,
      resolves: { id: row.id, at: clock() },
    };
    const stored = writer.write([message]);
    // looked at with the rest of the page
    stored.catch(() => {});
    return { readings: isForecast ? understood.hours : usable.length, stored };
  }

  async function* topics(): AsyncGenerator<string> {
    for (let after = ''; !closing; ) {
      const page = await store.unresolvedTopics(after, PAGE_TOPICS);
      if (page.length === 0) return;
      yield* page;
      after = page.at(-1)!;
    }
  }

  /** Messages of a topic, oldest first, a page at a time. */
  async function* pages(topic: string, { afterId, untilId }: IdRange): AsyncGenerator<QuarantineRow[]> {
    for (let after = afterId; !closing && after < untilId; ) {
      const page = await store.unresolved(topic, after, PAGE_MESSAGES);
      const rows = page.filter(({ id }) => id <= untilId);
      if (rows.length === 0) return;
      yield rows;
      after = rows.at(-1)!.id;
    }
  }

  /** Whether one of these messages was sent when its device's clock said what this computer's should have said. */
  async function isDeviceRight(topic: string, { behindMs, ...range }: StoodBack): Promise<boolean> {
    for await (const rows of pages(topic, range)) {
      for (const row of rows) {
        const understood = await receiver.read(topic, row.payload, row.receivedAt, behindMs);
        if (understood.kind === 'rejected') continue;
        // when it was issued says nothing of a device's clock, and a right clock would have taken it
        if (understood.kind === 'forecast') return true;
        const stamped = understood.readings.filter((one) => one.stamped === 'by-device').map(({ time }) => time);
        // what came without a time has none that could be wrong, and only a clock that was never set could not date it
        if (stamped.length === 0 && row.receivedAt < EARLIEST_TIME) return true;
        const lag = row.receivedAt + behindMs - Math.max(...stamped);
        if (lag <= payloadLimits.maxAheadMs) return true;
      }
    }
    return false;
  }

  async function readTopic(
    topic: string,
    range: IdRange,
    behindMs: number,
    read: (row: QuarantineRow) => Promise<Understood | null>,
  ): Promise<Reread> {
    let messages = 0;
    let readings = 0;
    let left = 0;
    for await (const rows of pages(topic, range)) {
      const storing: Promise<void>[] = [];
      for (const row of rows) {
        const understood = await read(row);
        if (understood === null) {
          left++;
          continue;
        }
        const begun = await readIn(row, understood, row.receivedAt + behindMs);
        storing.push(begun.stored);
        messages++;
        readings += begun.readings;
      }
      await Promise.all(storing);
    }
    return { messages, readings, left };
  }

  async function each(one: (topic: string) => Promise<Reread>): Promise<Reread> {
    let sum = NOTHING;
    for await (const topic of topics()) {
      const { messages, readings, left } = await one(topic);
      sum = { messages: sum.messages + messages, readings: sum.readings + readings, left: sum.left + left };
    }
    return sum;
  }

  function inTurn(work: () => Promise<Reread>): Promise<Reread> {
    const run = last.then(work);
    last = run.catch(() => {});
    return run;
  }

  return {
    run: () => inTurn(() => each((topic) => readTopic(topic, EVERYTHING, 0, readNow))),
    runStoodBack: (messages) =>
      inTurn(() =>
        each(async (topic) =>
          (await isDeviceRight(topic, messages))
            ? readTopic(topic, messages, messages.behindMs, (row) => readByRightClock(row, messages.behindMs))
            : NOTHING,
        ),
      ),
    async close() {
      closing = true;
      await last;
    },
  };
}
