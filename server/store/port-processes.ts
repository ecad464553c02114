/**
 * Work that is done by one process at a time: on a dwelling, or, the telling of states and the listening that must not end,
 * on the installation. Locks go by the place in this list.
 */
export const works = ['hours', 'watch', 'forecasts', 'seals', 'summaries', 'example', 'states', 'listening'] as const;
export type Work = (typeof works)[number];

/** What the processes of an installation, where there are several, have to settle between them. */
export interface ProcessStore {
  /** whether other processes may be at work on the same store; if not, there is nobody to tell or to hear */
  readonly isShared: boolean;
  /**
   * Does a piece of work on a dwelling unless it is being done, by this process or another; null: it is. Spares work that
   * would be done twice, and nothing rests on it: where the connection to the store breaks in between, two may be at it.
   */
  doAlone<T>(work: Work, dwellingId: number, task: () => Promise<T>): Promise<T | null>;
  /** Takes charge of a work for as long as this process runs and its connection holds; false: another has it. */
  takeCharge(work: Work): Promise<boolean>;
  /** Lets another take charge of a work; nothing happens where this process is not in charge. */
  giveUpCharge(work: Work): Promise<void>;
  /**
   * Says something to the other processes, each word at most 7000 bytes. It reaches those that listen now, soon and once,
   * in order.
   */
  tellOthers(words: readonly string[]): Promise<void>;
  /**
   * Hears what others say from now on.
   *
   * @param onMissed the connection was broken and is there again: what was said meanwhile was not heard
   */
  listen(onWord: (word: string) => void, onMissed: () => void): Promise<void>;
}
