import { unbrokenRuns } from '../arrival-spans.ts';
import { dayOf } from '../canonical.ts';
import type { Arrival } from '../port-provenance.ts';
import { int4s, numbersIn, sendAll } from './arrays.ts';
import type { Transaction } from './database.ts';
import { nextId } from './ids.ts';
import { beginJournal } from './journal.ts';

interface Run extends Arrival {
  readonly id: number;
}

/**
 * What tells on which day readings of a dwelling arrived. Most arrive on their own UTC day, and nothing is written for
 * those; for the others a row says of a whole run of readings when they came.
 */
export interface Arrivals {
  /** the first day in which something can still arrive */
  readonly openDay: number;
  /** latest time that an arrival of a series speaks of */
  readonly highest: ReadonlyMap<number, number>;
}

/** Reads what is known of dwellings in which something was stored, and begins their journals where there are none. */
export async function readArrivals(
  tx: Transaction,
  dwellingIds: readonly number[],
  receivedDay: number,
): Promise<Map<number, Arrivals>> {
  if (dwellingIds.length === 0) return new Map();
  const read = () =>
    tx.all<{ dwellingId: number; firstDay: number | null; lastDay: number | null }>(
      `SELECT dwelling_id AS "dwellingId", first_day AS "firstDay",
         (SELECT max(day) FROM day_seal WHERE day_seal.dwelling_id = sealing.dwelling_id) AS "lastDay"
       FROM sealing WHERE dwelling_id = ANY ($1::int[])`,
      [int4s(dwellingIds)],
    );
  let rows = await read();
  if (rows.length < dwellingIds.length) {
    for (const dwellingId of dwellingIds) await beginJournal(tx, dwellingId);
    rows = await read();
  }
  const untouched = rows.filter(({ firstDay }) => firstDay === null).map(({ dwellingId }) => dwellingId);
  if (untouched.length > 0) {
    await tx.run('UPDATE sealing SET first_day = $1 WHERE dwelling_id = ANY ($2::int[])', [
      receivedDay,
      int4s(untouched),
    ]);
  }
  const highest = new Map<number, Map<number, number>>(dwellingIds.map((id) => [id, new Map()]));
  const ends = await tx.all<{ dwellingId: number; seriesId: number; to: number }>(
    `SELECT dwelling_id AS "dwellingId", series_id AS "seriesId", max(to_time) AS "to"
     FROM arrival WHERE dwelling_id = ANY ($1::int[]) GROUP BY dwelling_id, series_id`,
    [int4s(dwellingIds)],
  );
  for (const { dwellingId, seriesId, to } of ends) highest.get(dwellingId)!.set(seriesId, to);
  return new Map(
    rows.map(({ dwellingId, firstDay, lastDay }) => [
      dwellingId,
      { openDay: lastDay === null ? (firstDay ?? receivedDay) : lastDay + 1, highest: highest.get(dwellingId)! },
    ]),
  );
}

/** Writes down when readings of one series arrived. To be called in the dwelling's turn, once they are stored. */
export async function recordArrival(
  tx: Transaction,
  dwellingId: number,
  seriesId: number,
  times: readonly number[],
  { day, importId }: Pick<Arrival, 'day' | 'importId'>,
): Promise<void> {
  const sorted = [...times].sort((a, b) => a - b);
  let latest = await tx.first<Run>(
    `SELECT id, from_time AS "from", to_time AS "to", day, import_id AS "importId" FROM arrival
     WHERE dwelling_id = $1 AND series_id = $2 ORDER BY id DESC LIMIT 1`,
    [dwellingId, seriesId],
  );
  for (const { from, to } of await runsOf(tx, dwellingId, seriesId, sorted)) {
    if (
      latest !== undefined &&
      latest.day === day &&
      latest.importId === importId &&
      latest.to < from &&
      !(await anyBetween(tx, dwellingId, seriesId, latest.to, from))
    ) {
      latest = { ...latest, to };
      await tx.run('UPDATE arrival SET to_time = $4 WHERE dwelling_id = $1 AND series_id = $2 AND id = $3', [
        dwellingId,
        seriesId,
        latest.id,
        to,
      ]);
    } else {
      latest = { id: await nextId(tx, dwellingId, 'arrival'), from, to, day, importId };
      await tx.run(
        `INSERT INTO arrival (dwelling_id, series_id, id, from_time, to_time, day, import_id)
         VALUES ($1, $2, $3, $4, $5, $6, $7)`,
        [dwellingId, seriesId, latest.id, from, to, day, importId],
      );
    }
  }
}

const anyBetween = async (
  tx: Transaction,
  dwellingId: number,
  seriesId: number,
  after: number,
  before: number,
): Promise<boolean> =>
  (await tx.first(
    'SELECT 1 FROM reading WHERE dwelling_id = $1 AND series_id = $2 AND time > $3 AND time < $4 LIMIT 1',
    [dwellingId, seriesId, after, before],
  )) !== undefined;

async function runsOf(
  tx: Transaction,
  dwellingId: number,
  seriesId: number,
  times: readonly number[],
): Promise<{ from: number; to: number }[]> {
  const from = times[0]!;
  const to = times.at(-1)!;
  const span = [dwellingId, seriesId, from, to];
  const between = 'FROM reading WHERE dwelling_id = $1 AND series_id = $2 AND time >= $3 AND time <= $4';
  const { count } = (await tx.first<{ count: number }>(`SELECT count(*) AS count ${between}`, span))!;
  if (count === times.length) return [{ from, to }];
  const all = await tx.first<{ times: Buffer | null }>(
    `SELECT ${sendAll('time')} AS times FROM (SELECT time ${between} ORDER BY time) AS ordered`,
    span,
  );
  return unbrokenRuns(times, numbersIn(all!.times));
}

/** Whether a reading counts to its own UTC day without a word, so that nothing need be written of its arrival. */
export const isOfItsDay = (
  { openDay, highest }: Arrivals,
  seriesId: number,
  time: number,
  receivedDay: number,
): boolean => dayOf(time) === Math.max(receivedDay, openDay) && !(time <= (highest.get(seriesId) ?? -1));
