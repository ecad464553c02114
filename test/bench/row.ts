/**
 * One line of a benchmark's report. What was measured and the limit it is held to come from the same run on the same
 * machine, so that the ratio travels and the two figures need not.
 */
export interface BenchRow {
  /** what was timed or weighed, in words */
  readonly name: string;
  readonly measured: number;
  /** the same work stripped to what cannot be avoided, or the machine's own ceiling, in the same unit */
  readonly limit: number;
  readonly unit: string;
  /** measured / limit */
  readonly ratio: number;
  /** what `ratio` should be, read with `direction` */
  readonly aim: number;
  readonly direction: 'at most' | 'at least';
  readonly note?: string;
}

/** A row that must not be over its limit. */
export const within = (name: string, measured: number, limit: number, unit: string, note?: string): BenchRow => ({
  name,
  measured,
  limit,
  unit,
  ratio: measured / limit,
  aim: 1,
  direction: 'at most',
  ...(note === undefined ? {} : { note }),
});
