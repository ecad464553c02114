import type { ProcessStore } from '../store/port.ts';
import type { Happening } from './contract/live.ts';

/** What happened in one process and is to be known in all of them. */
export type Word =
  /** what open pages hear of a dwelling; other parts learn from it too what they remember wrongly */
  | { readonly kind: 'event'; readonly dwellingId: number; readonly event: Happening }
  /** dwellings or mappings came, went or changed */
  | { readonly kind: 'dwellings' }
  /** people or accounts of devices did */
  | { readonly kind: 'access' }
  | { readonly kind: 'session-ended'; readonly sessionId: number }
  /** hours became stale by a change that was not a reading */
  | { readonly kind: 'stale' }
  /** one of those that share the broker's messages stops, and would end its subscription */
  | { readonly kind: 'leaves-group' }
  /** a home was watched just now */
  | { readonly kind: 'watched'; readonly dwellingId: number };

/** The other processes on the same database, where there are any. */
export interface Fellows {
  /** Tells them soon; where the database cannot be reached the word is lost, and they look for themselves in time. */
  tell(word: Word): void;
  /**
   * Hears what they tell from now on.
   *
   * @param onMissed some of it may not have been heard: what is remembered may be wrong
   */
  listen(onWord: (word: Word) => void, onMissed: () => void): Promise<void>;
  /** Tells what is still to be told. */
  close(): Promise<void>;
}

/** Words of so long a time go together, ms. */
const GATHER_MS = 50;
/** A server passes on words of less than 8000 bytes (PostgreSQL, NOTIFY). */
const MOST_BYTES = 7000;
/** More than these are not held while the database cannot be reached. */
const MOST_HELD = 20_000;

export function createFellows(store: ProcessStore, log: { warn(detail: object, message: string): void }): Fellows {
  let held: string[] = [];
  let timer: NodeJS.Timeout | null = null;
  let telling: Promise<void> = Promise.resolve();

  function flush(): Promise<void> {
    timer = null;
    const words = held;
    held = [];
    if (words.length > 0) {
      telling = telling
        .then(() => store.tellOthers(bundles(words)))
        .catch((error: unknown) => {
          log.warn({ error: (error as Error).message, words: words.length }, 'other processes could not be told');
        });
    }
    return telling;
  }

  return {
    tell(word) {
      if (!store.isShared || held.length >= MOST_HELD) return;
      held.push(JSON.stringify(word));
      timer ??= setTimeout(flush, GATHER_MS);
    },
    listen: (onWord, onMissed) =>
      store.listen((bundle) => {
        for (const word of readBundle(bundle, log)) onWord(word);
      }, onMissed),
    async close() {
      if (timer !== null) clearTimeout(timer);
      await flush();
    },
  };
}

/** JSON arrays of words, each short enough to be passed on. */
function bundles(words: readonly string[]): string[] {
  const made: string[] = [];
  let open: string[] = [];
  let bytes = 0;
  for (const word of words) {
    const size = Buffer.byteLength(word) + 1;
    if (open.length > 0 && bytes + size > MOST_BYTES) {
      made.push(`[${open.join(',')}]`);
      open = [];
      bytes = 0;
    }
    open.push(word);
    bytes += size;
  }
  return [...made, `[${open.join(',')}]`];
}

/** Whoever may write in the database may say anything on the channel. */
function readBundle(bundle: string, log: { warn(detail: object, message: string): void }): Word[] {
  try {
    const words: unknown = JSON.parse(bundle);
    return Array.isArray(words) ? (words as Word[]) : [];
  } catch {
    log.warn({ bytes: bundle.length }, 'what another process said was not understood');
    return [];
  }
}
