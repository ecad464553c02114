import { type Quantity, quantities } from '../../physics/quantities.ts';
import type { IncomingReading } from '../port.ts';
import type { Connection } from './database.ts';
import { idGiver } from './ids.ts';
import { noteChange } from './journal.ts';
import { requireDwelling } from './rows.ts';

export interface KnownSeries {
  readonly id: number;
  /** no reading of the series is later than this, ms; to be raised by whoever stores one */
  newest: number;
}

/** Series by what they are of, remembered. */
export interface SeriesFinder {
  /** The series of a reading; unknown sensors and series are made. To be called inside a transaction. */
  of(reading: IncomingReading): KnownSeries;
  /** To be called when a transaction was undone or a sensor got another key. */
  forget(): void;
  /** To be called at the beginning of a transaction: forgets when another process has written since. */
  refresh(): void;
}

export function seriesFinder(db: Connection): SeriesFinder {
  const nextId = idGiver(db);
  const known = new Map<number, Map<string, Map<Quantity, KnownSeries>>>();
  const findSensor = db
    .prepare<[number, string], number>('SELECT id FROM sensor WHERE dwelling_id = ? AND key = ?')
    .pluck();
  const findSeries = db
    .prepare<[number, number, string], number>(
      'SELECT id FROM series WHERE dwelling_id = ? AND sensor_id = ? AND quantity = ?',
    )
    .pluck();
  const addSensor = db.prepare('INSERT INTO sensor (dwelling_id, id, key, name) VALUES (?, ?, ?, ?)');
  const addSeries = db.prepare('INSERT INTO series (dwelling_id, id, sensor_id, quantity) VALUES (?, ?, ?, ?)');

  const newestTime = db
    .prepare<[number, number], number | null>('SELECT max(time) FROM reading WHERE dwelling_id = ? AND series_id = ?')
    .pluck();
  const otherWrites = db.prepare<[], number>('PRAGMA data_version').pluck();
  let seen: number | undefined;

  function make(dwellingId: number, sensorKey: string, quantity: Quantity): number {
    requireDwelling(db, dwellingId);
    let sensorId = findSensor.get(dwellingId, sensorKey);
    if (sensorId === undefined) {
      sensorId = nextId(dwellingId, 'sensor');
      addSensor.run(dwellingId, sensorId, sensorKey, sensorKey);
      noteChange(db, 'sensor', dwellingId, sensorId);
    }
    const { wire } = quantities[quantity];
    const found = findSeries.get(dwellingId, sensorId, wire);
    if (found !== undefined) return found;
    const seriesId = nextId(dwellingId, 'series');
    addSeries.run(dwellingId, seriesId, sensorId, wire);
    noteChange(db, 'series', dwellingId, seriesId);
    return seriesId;
  }

  return {
    of({ dwellingId, sensorKey, quantity }) {
      const there = known.get(dwellingId)?.get(sensorKey)?.get(quantity);
      if (there !== undefined) return there;
      const id = make(dwellingId, sensorKey, quantity);
      const found = { id, newest: newestTime.get(dwellingId, id) ?? Number.NEGATIVE_INFINITY };
      const ofDwelling = known.get(dwellingId) ?? new Map<string, Map<Quantity, KnownSeries>>();
      const ofSensor = ofDwelling.get(sensorKey) ?? new Map<Quantity, KnownSeries>();
      known.set(dwellingId, ofDwelling.set(sensorKey, ofSensor.set(quantity, found)));
      return found;
    },
    forget: () => known.clear(),
    refresh() {
      const now = otherWrites.get();
      if (now !== seen) known.clear();
      seen = now;
    },
  };
}
