/** When a message that could not be delivered is tried again, and when that ends. */
export interface RetrySettings {
  /** pause after the first attempt, doubled after each further one, ms */
  readonly firstMs: number;
  readonly longestMs: number;
  /** after the first attempt it is given up, ms */
  readonly giveUpAfterMs: number;
}

/** An outage of two days, a weekend's, loses nothing; no source. */
export const retrySettings: RetrySettings = Object.freeze({
  firstMs: 30_000,
  longestMs: 3_600_000,
  giveUpAfterMs: 48 * 3_600_000,
});

/**
 * Pause before the next attempt, ms. Half of it is by chance, so that messages that failed together do not come back together.
 *
 * @param attempts attempts made so far, from 1 on
 * @param chance 0 to 1
 * @param askedMs pause the other side asked for, ms; null: none
 */
export function retryPause(attempts: number, chance: number, askedMs: number | null, settings = retrySettings): number {
  const doubled = Math.min(settings.firstMs * 2 ** Math.min(attempts - 1, 30), settings.longestMs);
  return Math.round(Math.max(doubled * (0.5 + chance / 2), askedMs ?? 0));
}
