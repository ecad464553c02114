import { dayOf } from './canonical.ts';
import type { DwellingStore } from './port.ts';
import type { ProcessStore } from './port-processes.ts';
import type { DaySeal, ProvenanceStore } from './port-provenance.ts';
import { whileThere } from './while-there.ts';

/** Seals every dwelling's days as they pass. */
export interface Sealer {
  /** Seals all days that are over; also done by itself soon after the start and every few minutes. */
  sealAll(): Promise<void>;
  lastError(): string | null;
  close(): Promise<void>;
}

interface Log {
  error(detail: object, message: string): void;
}

/** A day is sealed this long after it has passed, ms: what was sent in its last minute has been stored by then. */
export const GRACE_MS = 15 * 60_000;
const EVERY_MS = 5 * 60_000;
/** Once the first pages have their answers, ms: there may be years to seal. */
const FIRST_AFTER_MS = 2000;

/**
 * @param onSealed hears of each day in order, once it is sealed
 */
export function createSealer(
  store: Pick<DwellingStore, 'dwellings'> & Pick<ProvenanceStore, 'sealNextDay'> & Pick<ProcessStore, 'doAlone'>,
  clock: () => number,
  log: Log,
  onSealed: (dwellingId: number, seal: DaySeal) => void,
): Sealer {
  let failure: string | null = null;
  let closing = false;
  let running: Promise<void> = Promise.resolve();

  async function run(): Promise<void> {
    const today = dayOf(clock() - GRACE_MS);
    for (const { id } of await store.dwellings())
      await store.doAlone('seals', id, () => whileThere(store, id, () => sealDays(id, today)));
  }

  async function sealDays(id: number, today: number): Promise<void> {
    while (!closing) {
      const seal = await store.sealNextDay(id, today, clock());
      if (seal === null) return;
      onSealed(id, seal);
    }
  }

  function sealAll(): Promise<void> {
    running = running.then(run).then(
      () => {
        failure = null;
      },
      (error: unknown) => {
        failure = (error as Error).message;
        log.error({ err: error }, 'a day could not be sealed; trying again');
      },
    );
    return running;
  }

  const timers = [setTimeout(sealAll, FIRST_AFTER_MS), setInterval(sealAll, EVERY_MS)];
  for (const timer of timers) timer.unref();
  return {
    sealAll,
    lastError: () => failure,
    async close() {
      closing = true;
      for (const timer of timers) clearTimeout(timer);
      await running;
    },
  };
}
