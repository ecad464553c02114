import { HOUR_MS } from '../../analysis/vocabulary.ts';
import type { Connection } from './database.ts';

/** Marks hours as stale. To be called inside the transaction that makes them so. */
export interface StaleMarks {
  /** @param hours counted from 1970 */
  markHours(dwellingId: number, hours: Iterable<number>): void;
  /** Marks the hours of `[from, to)` ms that have readings of these series. */
  markReadings(dwellingId: number, seriesIds: readonly number[], from: number, to: number): void;
}

export function staleMarks(db: Connection): StaleMarks {
  const nextMark = db.prepare<[], number>('UPDATE last_mark SET mark = mark + 1 RETURNING mark').pluck();
  const mark = db.prepare<[number, number, number]>(
    `INSERT INTO stale_hour (dwelling_id, hour, mark) VALUES (?, ?, ?)
     ON CONFLICT DO UPDATE SET mark = excluded.mark`,
  );
  // hops from the first reading of an hour to the first of a later one: a seek an hour, not a step a reading
  const markSeries = db.prepare<{ dwelling: number; series: number; from: number; to: number; mark: number }>(
    `WITH RECURSIVE hop (time) AS (
       SELECT min(time) FROM reading
       WHERE dwelling_id = $dwelling AND series_id = $series AND time >= $from AND time < $to
       UNION ALL
       SELECT (SELECT min(reading.time) FROM reading
               WHERE dwelling_id = $dwelling AND series_id = $series
                 AND reading.time >= (hop.time / ${HOUR_MS} + 1) * ${HOUR_MS} AND reading.time < $to)
       FROM hop WHERE hop.time IS NOT NULL
     )
     INSERT INTO stale_hour (dwelling_id, hour, mark)
     SELECT $dwelling, time / ${HOUR_MS}, $mark FROM hop WHERE time IS NOT NULL
     ON CONFLICT DO UPDATE SET mark = excluded.mark`,
  );

  return {
    markHours(dwellingId, hours) {
      let given: number | undefined;
      for (const hour of hours) {
        given ??= nextMark.get()!;
        mark.run(dwellingId, hour, given);
      }
    },

    markReadings(dwellingId, seriesIds, from, to) {
      if (seriesIds.length === 0 || !(from < to)) return;
      const given = nextMark.get()!;
      for (const series of seriesIds) markSeries.run({ dwelling: dwellingId, series, from, to, mark: given });
    },
  };
}
