import type { Response } from 'express';
import type { IncomingReading } from '../store/port.ts';
import { type Happening, type LiveEvent, type MissedName, missedNames } from './contract/live.ts';
import { toInstant } from './views.ts';

export interface Listener {
  /** the session it belongs to; null: none */
  readonly sessionId: number | null;
  /** since when it has been asking: what happened meanwhile is told of first, ms; null: nothing is */
  readonly ago: number | null;
}

/** Sends what happens in a dwelling to every open page. */
export interface LiveHub {
  publish(dwellingId: number, event: Happening): void;
  /** Readings that have just been written: many, of which most are listened to by nobody. */
  came(readings: readonly IncomingReading[]): void;
  /** Answers a request with the stream of a dwelling until the client leaves. */
  stream(dwellingId: number, response: Response, listener: Listener): void;
  /** Closes the streams of a session that has ended. */
  endSession(sessionId: number): void;
  /** Lets every page connect again and read anew: it may have missed something. */
  startAnew(): void;
  /** Streams that are open. */
  count(): number;
  close(): void;
}

/** A comment line this often keeps the connection open through proxies and shows a dead client. */
const PING_MS = 25_000;
/** A page this far behind (bytes waiting) is cut off; it connects again by itself and reads anew. */
const MOST_WAITING = 1 << 20;
/** What a request may have taken to come here, ms: by so much a listener began to ask earlier than it can say. */
const ON_THE_WAY_MS = 60_000;

/** What is known of a dwelling: who listens, and when each kind of event was last told of, on the monotonic clock. */
interface Heard {
  readonly pages: Set<Response>;
  readonly last: Partial<Record<MissedName, number>>;
}

export const readingEvent = ({ sensorKey, quantity, time, value }: IncomingReading): Happening => ({
  name: 'reading',
  data: { sensorKey, quantity, time: toInstant(time), value },
});

const asText = ({ name, data }: LiveEvent): string => `event: ${name}\ndata: ${JSON.stringify(data)}\n\n`;

export function createLiveHub(): LiveHub {
  const dwellings = new Map<number, Heard>();
  const sessions = new Map<Response, number>();

  const heardOf = (dwellingId: number): Heard => {
    const known = dwellings.get(dwellingId);
    if (known !== undefined) return known;
    const begun: Heard = { pages: new Set(), last: {} };
    dwellings.set(dwellingId, begun);
    return begun;
  };
  const send = (response: Response, text: string | Buffer): void => {
    if (response.writableLength > MOST_WAITING) response.destroy();
    else response.write(text);
  };
  const sendAll = (pages: ReadonlySet<Response>, event: LiveEvent): void => {
    if (pages.size === 0) return;
    // encoded once for all of them
    const text = Buffer.from(asText(event));
    for (const page of pages) send(page, text);
  };
  const everyPage = (): Response[] => [...dwellings.values()].flatMap(({ pages }) => [...pages]);
  const ping = setInterval(() => {
    for (const page of everyPage()) send(page, ':\n\n');
  }, PING_MS);
  ping.unref();

  return {
    publish(dwellingId, event) {
      const { pages, last } = heardOf(dwellingId);
      last[event.name] = performance.now();
      sendAll(pages, event);
    },
    came(readings) {
      const now = performance.now();
      for (const reading of readings) {
        const { pages, last } = heardOf(reading.dwellingId);
        last.reading = now;
        if (pages.size > 0) sendAll(pages, readingEvent(reading));
      }
    },
    stream(dwellingId, response, { sessionId, ago }) {
      response
        .status(200)
        .set({ 'content-type': 'text/event-stream', 'cache-control': 'no-store', 'x-accel-buffering': 'no' });
      response.flushHeaders();
      response.write('retry: 3000\n\n');
      const { pages, last } = heardOf(dwellingId);
      if (ago !== null) {
        const from = performance.now() - ago - ON_THE_WAY_MS;
        const names = missedNames.filter((name) => (last[name] ?? Number.NEGATIVE_INFINITY) >= from);
        if (names.length > 0) response.write(asText({ name: 'missed', data: { names } }));
      }
      pages.add(response);
      if (sessionId !== null) sessions.set(response, sessionId);
      response.on('close', () => {
        pages.delete(response);
        sessions.delete(response);
      });
    },
    endSession(sessionId) {
      for (const [response, id] of sessions) if (id === sessionId) response.end();
    },
    startAnew() {
      for (const page of everyPage()) page.end();
    },
    count: () => everyPage().length,
    close() {
      clearInterval(ping);
      for (const page of everyPage()) page.end();
    },
  };
}
