import { setTimeout } from 'node:timers/promises';
import type { Store } from '../store/port.ts';
import type { Example } from './contract/example.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';

/** Puts the invented home into the store, in a process of its own. */
export interface ExampleSource {
  readonly name: string;
  /** Resolves when all of it is there. */
  load(progress: (step: NonNullable<Example['step']>, share: number) => void, signal: AbortSignal): Promise<void>;
}

export interface ExampleParts {
  readonly store: Store;
  readonly source: ExampleSource;
  /** dwellings came or went */
  readonly dwellingsChanged: () => void;
  readonly log: { error(detail: object, message: string): void };
}

/** The example of this program: tried, and removed again, from the page. */
export interface ExampleHome {
  readonly handlers: Pick<Handlers, 'getExample' | 'addExample' | 'removeExample'>;
  /** Goes on removing what was being removed when the program stopped. */
  resume(): Promise<void>;
  close(): Promise<void>;
}

/** Rows removed in one transaction, and the pause after it: readings that come in meanwhile hardly wait. */
const ROWS_AT_ONCE = 1_000;
const PAUSE_MS = 4;

export function createExampleHome({ store, source, dwellingsChanged, log }: ExampleParts): ExampleHome {
  let loading: { step: NonNullable<Example['step']>; share: number } | null = null;
  let problem: string | null = null;
  let running: Promise<void> = Promise.resolve();
  const closing = new AbortController();

  async function state(): Promise<Example> {
    const [example] = await store.examples();
    const dwelling = (await store.dwellings()).find(({ id }) => id === example?.dwellingId);
    const base = { name: dwelling?.name ?? source.name, dwelling: dwelling?.slug ?? null, problem };
    if (loading !== null) return { ...base, state: 'loading', dwelling: null, ...loading };
    const kind = example === undefined ? 'absent' : example.leaving ? 'removing' : 'there';
    return { ...base, state: kind, share: null, step: null };
  }

  async function load(): Promise<void> {
    try {
      await source.load((step, share) => {
        loading = { step, share };
      }, closing.signal);
    } catch (error) {
      if (closing.signal.aborted) return;
      log.error({ err: error }, 'the example could not be loaded');
      problem = `The example could not be loaded: ${(error as Error).message}`;
      await beginRemoval();
      await removeAll();
    } finally {
      loading = null;
      dwellingsChanged();
    }
  }

  /** Takes the examples out of the dwellings at once; what belongs to them follows. */
  async function beginRemoval(): Promise<void> {
    for (const { dwellingId } of await store.examples()) await store.beginRemoval(dwellingId);
    dwellingsChanged();
  }

  async function removeAll(): Promise<void> {
    for (const { dwellingId, leaving } of await store.examples())
      if (leaving) await store.doAlone('example', dwellingId, () => removeRows(dwellingId));
  }

  async function removeRows(dwellingId: number): Promise<void> {
    while (!closing.signal.aborted && (await store.removeSome(dwellingId, ROWS_AT_ONCE)) === 'more') {
      await setTimeout(PAUSE_MS);
    }
  }

  function inBackground(work: () => Promise<void>): void {
    running = running.then(work).catch((error: unknown) => {
      problem = `The example could not be removed: ${(error as Error).message}`;
      log.error({ err: error }, 'the example could not be removed');
    });
  }

  return {
    handlers: {
      getExample: state,

      async addExample() {
        const now = await state();
        if (now.state === 'removing')
          throw new RequestProblem('already-there', 'It is still being removed: wait a moment.');
        if (now.state !== 'absent') return now;
        problem = null;
        loading = { step: 'readings', share: 0 };
        inBackground(load);
        return state();
      },

      async removeExample() {
        const now = await state();
        if (now.state === 'loading')
          throw new RequestProblem('already-there', 'It is still being loaded: wait a moment.');
        if (now.state === 'absent') throw new RequestProblem('not-found', 'There is no example here.');
        problem = null;
        await beginRemoval();
        if (now.state === 'there') inBackground(removeAll);
        return state();
      },
    },

    async resume() {
      if ((await store.examples()).some(({ leaving }) => leaving)) inBackground(removeAll);
    },

    async close() {
      closing.abort();
      await running;
    },
  };
}
