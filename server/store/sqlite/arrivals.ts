import { unbrokenRuns } from '../arrival-spans.ts';
import { dayOf } from '../canonical.ts';
import type { Arrival } from '../port-provenance.ts';
import type { Connection } from './database.ts';
import { idGiver } from './ids.ts';
import { beginJournal } from './journal.ts';

/**
 * Keeps on which day readings arrived. Most arrive on their own UTC day, and nothing is written for those. For the others
 * a row says of a whole run of readings when they came, so that a file of a year costs a row a series.
 */
export interface ArrivalKeeper {
  /** To be called in the transaction of a batch, before its readings are stored. */
  begin(batch: { readonly receivedAt: number; readonly importId: number | null }): BatchArrivals;
  /** To be called when a transaction was undone, or a day was sealed. */
  forget(): void;
}

export interface BatchArrivals {
  /** To be called for each reading that was stored. */
  stored(dwellingId: number, seriesId: number, time: number): void;
  /** To be called when all are stored. */
  end(): void;
}

interface Run extends Arrival {
  readonly id: number;
}

interface OfDwelling {
  /** the first day in which something can still arrive */
  readonly openDay: number;
  /** latest time that an arrival of the series speaks of */
  readonly highest: Map<number, number>;
  /** the arrival that was recorded last for the series; null: none */
  readonly latest: Map<number, Run | null>;
}

export function arrivalKeeper(db: Connection): ArrivalKeeper {
  const nextId = idGiver(db);
  const known = new Map<number, OfDwelling>();
  const otherWrites = db.prepare<[], number>('PRAGMA data_version').pluck();
  let seen: number | undefined;

  const sealing = db.prepare<[number], { firstDay: number | null; lastDay: number | null }>(
    `SELECT first_day AS "firstDay", (SELECT max(day) FROM day_seal WHERE day_seal.dwelling_id = sealing.dwelling_id) AS "lastDay"
     FROM sealing WHERE dwelling_id = ?`,
  );
  const setFirstDay = db.prepare('UPDATE sealing SET first_day = ? WHERE dwelling_id = ?');
  const highestTo = db.prepare<[number], { seriesId: number; to: number }>(
    'SELECT series_id AS "seriesId", max(to_time) AS "to" FROM arrival WHERE dwelling_id = ? GROUP BY series_id',
  );
  const latestRun = db.prepare<[number, number], Run>(
    `SELECT id, from_time AS "from", to_time AS "to", day, import_id AS "importId" FROM arrival
     WHERE dwelling_id = ? AND series_id = ? ORDER BY id DESC LIMIT 1`,
  );
  const insert = db.prepare(
    'INSERT INTO arrival (dwelling_id, series_id, id, from_time, to_time, day, import_id) VALUES (?, ?, ?, ?, ?, ?, ?)',
  );
  const extend = db.prepare('UPDATE arrival SET to_time = ? WHERE dwelling_id = ? AND series_id = ? AND id = ?');
  const countBetween = db
    .prepare<[number, number, number, number], number>(
      'SELECT count(*) FROM reading WHERE dwelling_id = ? AND series_id = ? AND time >= ? AND time <= ?',
    )
    .pluck();
  const timesBetween = db
    .prepare<[number, number, number, number], number>(
      'SELECT time FROM reading WHERE dwelling_id = ? AND series_id = ? AND time >= ? AND time <= ? ORDER BY time',
    )
    .pluck();
  const anyBetween = db
    .prepare<[number, number, number, number], number>(
      'SELECT 1 FROM reading WHERE dwelling_id = ? AND series_id = ? AND time > ? AND time < ? LIMIT 1',
    )
    .pluck();

  function look(dwellingId: number, receivedDay: number): OfDwelling {
    const remembered = known.get(dwellingId);
    if (remembered !== undefined) return remembered;
    beginJournal(db, dwellingId);
    const { firstDay, lastDay } = sealing.get(dwellingId)!;
    if (firstDay === null) setFirstDay.run(receivedDay, dwellingId);
    const found = {
      openDay: lastDay === null ? (firstDay ?? receivedDay) : lastDay + 1,
      highest: new Map(highestTo.all(dwellingId).map(({ seriesId, to }) => [seriesId, to])),
      latest: new Map<number, Run | null>(),
    };
    known.set(dwellingId, found);
    return found;
  }

  function record(dwellingId: number, seriesId: number, times: number[], day: number, importId: number | null): void {
    const of = known.get(dwellingId)!;
    times.sort((a, b) => a - b);
    for (const { from, to } of runsOf(dwellingId, seriesId, times)) {
      let latest = of.latest.get(seriesId);
      if (latest === undefined) latest = latestRun.get(dwellingId, seriesId) ?? null;
      if (
        latest !== null &&
        latest.day === day &&
        latest.importId === importId &&
        latest.to < from &&
        anyBetween.get(dwellingId, seriesId, latest.to, from) === undefined
      ) {
        extend.run(to, dwellingId, seriesId, latest.id);
        of.latest.set(seriesId, { ...latest, to });
      } else {
        const id = nextId(dwellingId, 'arrival');
        insert.run(dwellingId, seriesId, id, from, to, day, importId);
        of.latest.set(seriesId, { id, from, to, day, importId });
      }
      of.highest.set(seriesId, Math.max(of.highest.get(seriesId) ?? to, to));
    }
  }

  function runsOf(dwellingId: number, seriesId: number, times: readonly number[]): { from: number; to: number }[] {
    const from = times[0]!;
    const to = times.at(-1)!;
    if (countBetween.get(dwellingId, seriesId, from, to) === times.length) return [{ from, to }];
    return unbrokenRuns(times, timesBetween.iterate(dwellingId, seriesId, from, to));
  }

  return {
    begin({ receivedAt, importId }) {
      const now = otherWrites.get();
      if (now !== seen) known.clear();
      seen = now;
      const receivedDay = dayOf(receivedAt);
      const apart = new Map<number, Map<number, number[]>>();
      return {
        stored(dwellingId, seriesId, time) {
          const of = known.get(dwellingId) ?? look(dwellingId, receivedDay);
          const day = Math.max(receivedDay, of.openDay);
          if (importId === null && dayOf(time) === day && !(time <= (of.highest.get(seriesId) ?? -1))) return;
          const ofDwelling = apart.get(dwellingId) ?? new Map<number, number[]>();
          const times = ofDwelling.get(seriesId) ?? [];
          times.push(time);
          apart.set(dwellingId, ofDwelling.set(seriesId, times));
        },
        end() {
          for (const [dwellingId, ofDwelling] of apart) {
            const day = Math.max(receivedDay, known.get(dwellingId)!.openDay);
            for (const [seriesId, times] of ofDwelling) record(dwellingId, seriesId, times, day, importId);
          }
        },
      };
    },
    forget: () => known.clear(),
  };
}
