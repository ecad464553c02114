import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { int4s } from './arrays.ts';
import type { Transaction } from './database.ts';

/**
 * SQL that marks hours as stale, all with one new mark. To be run in the turns of the dwellings, in the transaction that
 * makes them so.
 *
 * @param stale SQL that gives the hours, counted from 1970, as `dwelling_id` and `hour`; none twice
 */
export const markStale = (stale: string): string =>
  `INSERT INTO stale_hour (dwelling_id, hour, mark)
   SELECT dwelling_id, hour, (SELECT nextval('stale_mark')) FROM (${stale}) AS stale
   ON CONFLICT (dwelling_id, hour) DO UPDATE SET mark = excluded.mark`;

/** Marks the hours of `[from, to)` ms that have readings of these series. */
export async function markReadings(
  tx: Transaction,
  dwellingId: number,
  seriesIds: readonly number[],
  from: number,
  to: number,
): Promise<void> {
  if (seriesIds.length === 0 || !(from < to)) return;
  await tx.run(
    markStale(
      `SELECT DISTINCT dwelling_id, (time / ${HOUR_MS})::int AS hour FROM reading
       WHERE dwelling_id = $1 AND series_id = ANY ($2::int[]) AND time >= $3 AND time < $4`,
    ),
    [dwellingId, int4s(seriesIds), from, to],
  );
}
