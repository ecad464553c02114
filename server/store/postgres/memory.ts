import type { Transaction } from './database.ts';

/**
 * What a process remembers of dwellings between transactions, so that it need not read it anew for every batch. It is
 * believed only in the dwelling's turn and only while the version is the one under which it was learned.
 */
export interface Memory<T> {
  /** undefined: nothing that can be believed */
  recall(tx: Transaction, dwellingId: number): T | undefined;
  /**
   * Remembers once the transaction is kept.
   *
   * @param version the version that the dwelling has then
   */
  remember(tx: Transaction, dwellingId: number, version: number, what: T): void;
}

export function createMemory<T>(): Memory<T> {
  const known = new Map<number, { readonly version: number; readonly what: T }>();
  return {
    recall(tx, dwellingId) {
      const found = known.get(dwellingId);
      return found !== undefined && found.version === tx.turns.get(dwellingId) ? found.what : undefined;
    },
    remember(tx, dwellingId, version, what) {
      tx.afterCommit(() => known.set(dwellingId, { version, what }));
    },
  };
}
