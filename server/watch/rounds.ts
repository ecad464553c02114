/** Work that is done again and again, never twice at a time. */
export interface Rounds {
  /** Does it now, after what is running; rejects when that failed. */
  look(): Promise<void>;
  /** Why the last round failed; null: it did not. */
  lastError(): string | null;
  /** How long the last round that did not fail took, s; null: there was none yet. */
  lastSeconds(): number | null;
  /** Ends after the piece that is being worked on. */
  close(): Promise<void>;
}

/**
 * Goes round every so often, and leaves a round out while the one before still runs. A round that failed is tried again
 * with the next.
 *
 * @param everyMs time between two rounds, ms
 * @param round asks between its pieces whether it is to end
 */
export function createRounds(everyMs: number, round: (isClosing: () => boolean) => Promise<void>): Rounds {
  let failure: string | null = null;
  let seconds: number | null = null;
  let closing = false;
  let running: Promise<void> = Promise.resolve();

  async function once(): Promise<void> {
    if (closing) return;
    const began = performance.now();
    try {
      await round(() => closing);
      failure = null;
      seconds = (performance.now() - began) / 1000;
    } catch (error) {
      failure = (error as Error).message;
      throw error;
    }
  }

  const look = (): Promise<void> => {
    running = running.catch(() => undefined).then(once);
    return running;
  };
  let busy = false;
  const timer = setInterval(() => {
    if (busy || closing) return;
    busy = true;
    look()
      // kept in lastError
      .catch(() => undefined)
      .finally(() => {
        busy = false;
      });
  }, everyMs);
  timer.unref();

  return {
    look,
    lastError: () => failure,
    lastSeconds: () => seconds,
    async close() {
      closing = true;
      clearInterval(timer);
      await running.catch(() => undefined);
    },
  };
}
