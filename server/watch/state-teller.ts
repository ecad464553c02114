import { setImmediate } from 'node:timers/promises';
import type { Dwelling } from '../store/port.ts';
import { type HomeState, stateMessages } from './state-topics.ts';

export interface TellerParts {
  readonly dwellings: () => Promise<Dwelling[]>;
  readonly stateOf: (dwelling: Dwelling, time: number) => Promise<HomeState>;
  /** puts a retained message on the broker */
  readonly publish: (topic: string, payload: string) => void;
  readonly clock: () => number;
  /** whether it is for this process to tell: of several one does */
  readonly takeCharge: () => Promise<boolean>;
  /** pause between two rounds, ms */
  readonly everyMs: number;
  readonly log: { warn(detail: object, message: string): void };
}

/** Says on the broker how homes are. */
export interface StateTeller {
  /** readings, hours or notices of the dwelling changed: it is told of in the next round */
  changed(dwellingId: number): void;
  /** Tells of all that changed, now; the first call begins the rounds. */
  tell(): Promise<void>;
  close(): Promise<void>;
}

/** Every home is told of once at the start; after that those of which something new came, a round every so often. */
export function createStateTeller({
  dwellings,
  stateOf,
  publish,
  clock,
  takeCharge,
  everyMs,
  log,
}: TellerParts): StateTeller {
  /** payload by topic */
  const told = new Map<number, ReadonlyMap<string, string>>();
  let changed = new Set<number>();
  let running: Promise<void> | null = null;
  let closed = false;
  let timer: ReturnType<typeof setInterval> | null = null;

  /** An empty retained message takes the topic away (MQTT 3.1.1, 3.3.1.3). */
  const takeAway = (topic: string): void => publish(topic, '');

  async function round(): Promise<void> {
    if (!(await takeCharge())) {
      // whoever takes over tells of every home
      told.clear();
      changed.clear();
      return;
    }
    const due = changed;
    changed = new Set();
    const homes = await dwellings();
    for (const [id, before] of told) {
      if (homes.some((home) => home.id === id)) continue;
      // an example that was removed
      for (const topic of before.keys()) takeAway(topic);
      told.delete(id);
    }
    for (const dwelling of homes) {
      if (closed) return;
      if (told.has(dwelling.id) && !due.has(dwelling.id)) continue;
      await setImmediate();
      try {
        const time = clock();
        const messages = stateMessages(await stateOf(dwelling, time), time);
        if (closed) return;
        const before = told.get(dwelling.id) ?? new Map<string, string>();
        const said = new Map(messages.map(({ topic, payload }) => [topic, payload]));
        for (const [topic, payload] of said) if (before.get(topic) !== payload) publish(topic, payload);
        for (const topic of before.keys()) if (!said.has(topic)) takeAway(topic);
        told.set(dwelling.id, said);
      } catch (error) {
        changed.add(dwelling.id);
        log.warn({ dwelling: dwelling.slug, error: (error as Error).message }, 'the state of a home could not be told');
      }
    }
  }

  const tell = (): Promise<void> => {
    running ??= round()
      .catch((error: unknown) => log.warn({ error: (error as Error).message }, 'states could not be told'))
      .finally(() => {
        running = null;
      });
    return running;
  };
  return {
    changed: (dwellingId) => void changed.add(dwellingId),
    async tell() {
      timer ??= setInterval(tell, everyMs).unref();
      await running;
      await tell();
    },
    async close() {
      closed = true;
      if (timer !== null) clearInterval(timer);
      await running;
    },
  };
}
