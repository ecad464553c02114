import type { Response } from 'express';
import type { LiveEvent } from './contract/live.ts';

/** Sends what happens in a dwelling to every open page. */
export interface LiveHub {
  publish(dwellingId: number, event: LiveEvent): void;
  /** Answers a request with the stream of a dwelling until the client leaves. */
  stream(dwellingId: number, response: Response, sessionId?: number | null): void;
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

export function createLiveHub(): LiveHub {
  const pages = new Map<number, Set<Response>>();
  const sessions = new Map<Response, number>();

  const send = (response: Response, text: string | Buffer): void => {
    if (response.writableLength > MOST_WAITING) response.destroy();
    else response.write(text);
  };
  const everyPage = (): Response[] => [...pages.values()].flatMap((set) => [...set]);
  const ping = setInterval(() => {
    for (const page of everyPage()) send(page, ':\n\n');
  }, PING_MS);
  ping.unref();

  return {
    publish(dwellingId, event) {
      const listening = pages.get(dwellingId);
      if (!listening) return;
      // encoded once for all of them
      const text = Buffer.from(`event: ${event.name}\ndata: ${JSON.stringify(event.data)}\n\n`);
      for (const page of listening) send(page, text);
    },
    stream(dwellingId, response, sessionId = null) {
      response
        .status(200)
        .set({ 'content-type': 'text/event-stream', 'cache-control': 'no-store', 'x-accel-buffering': 'no' });
      response.flushHeaders();
      response.write('retry: 3000\n\n');
      const listening = pages.get(dwellingId) ?? new Set();
      pages.set(dwellingId, listening.add(response));
      if (sessionId !== null) sessions.set(response, sessionId);
      response.on('close', () => {
        listening.delete(response);
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
