import { setTimeout } from 'node:timers/promises';
import { type ProcessStore, type Work, works } from '../port.ts';
import type { Database, LastingConnection } from './database.ts';
import { LOCKS } from './partitions.ts';

/** Under this name processes say things to each other. */
const CHANNEL = 'coomb';
/** Pause before another try to hear the others, ms. */
const RETRY_MS = 1000;

/** First key of the advisory locks of a work; the second is the dwelling, 0 for the installation. */
const lockOf = (work: Work): number => LOCKS.family + 1 + works.indexOf(work);

/**
 * Works are divided by advisory locks, and words go by LISTEN and NOTIFY, all on one connection of this process that lasts:
 * when it breaks, and so when the process dies, the server lets go of the locks.
 */
export function processStore(db: Database): Omit<ProcessStore, 'isShared'> & { close(): Promise<void> } {
  let connection: Promise<LastingConnection> | null = null;
  let listener: { onWord(word: string): void; onMissed(): void } | null = null;
  let closed = false;
  const busy = new Set<string>();
  const inCharge = new Set<Work>();

  async function open(): Promise<LastingConnection> {
    const made = await db.lasting({
      heard: (word) => listener?.onWord(word),
      lost: () => {
        connection = null;
        inCharge.clear();
        if (listener !== null && !closed) void listenAgain();
      },
    });
    if (listener !== null) await made.run(`LISTEN ${CHANNEL}`);
    return made;
  }

  function current(): Promise<LastingConnection> {
    connection ??= open().catch((error: unknown) => {
      connection = null;
      throw error;
    });
    return connection;
  }

  async function listenAgain(): Promise<void> {
    while (!closed) {
      await setTimeout(RETRY_MS, undefined, { ref: false });
      const isBack = await current().then(
        () => true,
        () => false,
      );
      if (isBack) return listener?.onMissed();
    }
  }

  async function lock(on: LastingConnection, work: Work, dwellingId: number): Promise<boolean> {
    const row = await on.first<{ taken: boolean }>('SELECT pg_try_advisory_lock($1, $2) AS taken', [
      lockOf(work),
      dwellingId,
    ]);
    return row!.taken;
  }

  return {
    async doAlone(work, dwellingId, task) {
      // the server would give the same connection a lock twice
      const key = `${work} ${dwellingId}`;
      if (busy.has(key)) return null;
      busy.add(key);
      try {
        const on = await current();
        if (!(await lock(on, work, dwellingId))) return null;
        try {
          return await task();
        } finally {
          // a connection that broke has let go of it already
          await on.run('SELECT pg_advisory_unlock($1, $2)', [lockOf(work), dwellingId]).catch(() => undefined);
        }
      } finally {
        busy.delete(key);
      }
    },

    async takeCharge(work) {
      const on = await current();
      if (inCharge.has(work)) return true;
      if (!(await lock(on, work, 0))) return false;
      inCharge.add(work);
      return true;
    },

    async giveUpCharge(work) {
      const on = await current();
      if (inCharge.delete(work)) await on.run('SELECT pg_advisory_unlock($1, $2)', [lockOf(work), 0]);
    },

    async tellOthers(words) {
      const on = await current();
      await on.run('SELECT pg_notify($1, word) FROM unnest($2::text[]) AS word', [CHANNEL, words]);
    },

    async listen(onWord, onMissed) {
      listener = { onWord, onMissed };
      await (await current()).run(`LISTEN ${CHANNEL}`);
    },

    async close() {
      closed = true;
      await connection?.then(
        (on) => on.close(),
        () => undefined,
      );
    },
  };
}
