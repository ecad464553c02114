import { type HourKeeperOptions, type HourKeeping, keepHours } from './hour-keeper.ts';

/** Keeps hour records up with the readings while the program runs. */
export interface Keeper {
  /** Says that something may have become stale; the rebuild follows after a short gathering pause. */
  wake(): void;
  /** Resolves when nothing that was stale at the call is stale any more; rejects when that failed. */
  settled(): Promise<void>;
  lastError(): string | null;
  /** Leaves what is still stale to the next start. */
  close(): Promise<void>;
}

interface Log {
  error(detail: object, message: string): void;
}

/** Readings that come within this time are rebuilt together, ms. */
const GATHER_MS = 250;
/** Pause before another try after a failure, ms. */
const RETRY_MS = 10_000;
/** What became stale unheard, by an import or because another process stopped at it, is found within this, ms. */
const LOOK_MS = 60_000;

export function createKeeper(
  store: HourKeeping,
  log: Log,
  onRebuilt: (dwellingId: number, from: number, to: number) => void,
  options: Pick<HourKeeperOptions, 'doAlone' | 'atATime'> = {},
): Keeper {
  let timer: NodeJS.Timeout | null = null;
  let running: Promise<void> | null = null;
  let wokenMeanwhile = false;
  let failure: string | null = null;
  const closing = new AbortController();

  async function run(): Promise<void> {
    try {
      await keepHours(store, { ...options, onRebuilt, signal: closing.signal });
      failure = null;
    } catch (error) {
      failure = (error as Error).message;
      log.error({ err: error }, 'hour records could not be rebuilt; trying again');
      plan(RETRY_MS);
      throw error;
    }
  }

  function start(): Promise<void> {
    running ??= run().finally(() => {
      running = null;
      if (wokenMeanwhile) plan(GATHER_MS);
      wokenMeanwhile = false;
    });
    return running;
  }

  function plan(pause: number): void {
    if (closing.signal.aborted || timer !== null) return;
    timer = setTimeout(() => {
      timer = null;
      // the failure is kept in lastError and tried again
      start().catch(() => undefined);
    }, pause);
  }

  function wake(): void {
    if (running === null) plan(GATHER_MS);
    else wokenMeanwhile = true;
  }

  const looking = setInterval(wake, LOOK_MS);
  looking.unref();
  return {
    wake,
    async settled() {
      await running?.catch(() => undefined);
      await start();
    },
    lastError: () => failure,
    async close() {
      closing.abort();
      clearInterval(looking);
      if (timer !== null) clearTimeout(timer);
      await running?.catch(() => undefined);
    },
  };
}
