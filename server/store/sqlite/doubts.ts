import type { HourColumnName } from '../../analysis/place-hours.ts';
import { type DoubtedPlace, doubtsOn, extremeColumns, noExtremes } from '../doubts.ts';
import type { Connection } from './database.ts';

/**
 * Takes out of columns what rests on sensors that cannot be believed.
 *
 * @param bounds first hour and the one after the last, counted from 1970
 */
export function leaveOutDoubtful(
  db: Connection,
  dwellingId: number,
  placeId: number,
  [first, end]: readonly [number, number],
  names: readonly HourColumnName[],
  columns: readonly Float64Array[],
): void {
  const places = db
    .prepare<[number], DoubtedPlace>(
      'SELECT id, kind, faces_place_id AS "facesPlaceId" FROM place WHERE dwelling_id = ? ORDER BY id',
    )
    .all(dwellingId);
  const read = db
    .prepare<[number, number, number, number], [number, ...(number | null)[]]>(
      `SELECT hour, ${extremeColumns.join(', ')}
       FROM hour_record WHERE dwelling_id = ? AND place_id = ? AND hour >= ? AND hour < ?`,
    )
    .raw();
  doubtsOn(places, placeId, names).leaveOut(columns, (id) => {
    const { start, columns: extremes } = noExtremes(first, end);
    for (const row of read.all(dwellingId, id, start, start + extremes[0]!.length)) {
      for (let k = 0; k < extremes.length; k++) extremes[k]![row[0] - start] = row[k + 1] ?? Number.NaN;
    }
    return extremes;
  });
}
