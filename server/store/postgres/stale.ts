import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { int4s } from './arrays.ts';
import type { Transaction } from './database.ts';

const keepMark = 'ON CONFLICT (dwelling_id, hour) DO UPDATE SET mark = excluded.mark';

/**
 * Marks hours as stale. To be called in the turns of the dwellings, in the transaction that makes them so.
 *
 * @param dwellingIds dwelling of each of `hours`; no pair twice
 * @param hours counted from 1970
 */
export async function markHours(
  tx: Transaction,
  dwellingIds: readonly number[],
  hours: readonly number[],
): Promise<void> {
  if (hours.length === 0) return;
  await tx.run(
    `INSERT INTO stale_hour (dwelling_id, hour, mark)
     SELECT dwelling_id, hour, (SELECT nextval('stale_mark'))
     FROM unnest($1::int[], $2::int[]) AS stale (dwelling_id, hour) ${keepMark}`,
    [int4s(dwellingIds), int4s(hours)],
  );
}

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
    `INSERT INTO stale_hour (dwelling_id, hour, mark)
     SELECT $1, hour, (SELECT nextval('stale_mark'))
     FROM (SELECT DISTINCT (time / ${HOUR_MS})::int AS hour FROM reading
           WHERE dwelling_id = $1 AND series_id = ANY ($2::int[]) AND time >= $3 AND time < $4) AS touched ${keepMark}`,
    [dwellingId, int4s(seriesIds), from, to],
  );
}
