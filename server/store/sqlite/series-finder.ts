import { type Quantity, quantities } from '../../physics/quantities.ts';
import type { IncomingReading } from '../port.ts';
import type { Connection } from './database.ts';
import { idGiver } from './ids.ts';
import { noteChange } from './journal.ts';
import { requireDwelling } from './rows.ts';

/** Ids of series by what they are of, remembered. */
export interface SeriesFinder {
  /** The series of a reading; unknown sensors and series are made. To be called inside a transaction. */
  idOf(reading: IncomingReading): number;
  /** To be called when a transaction was undone or a sensor got another key. */
  forget(): void;
  /** To be called at the beginning of a transaction: forgets when another process has written since. */
  refresh(): void;
}

export function seriesFinder(db: Connection): SeriesFinder {
  const nextId = idGiver(db);
  const known = new Map<number, Map<string, Map<Quantity, number>>>();
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
    idOf({ dwellingId, sensorKey, quantity }) {
      const id = known.get(dwellingId)?.get(sensorKey)?.get(quantity);
      if (id !== undefined) return id;
      const made = make(dwellingId, sensorKey, quantity);
      const ofDwelling = known.get(dwellingId) ?? new Map<string, Map<Quantity, number>>();
      const ofSensor = ofDwelling.get(sensorKey) ?? new Map<Quantity, number>();
      known.set(dwellingId, ofDwelling.set(sensorKey, ofSensor.set(quantity, made)));
      return made;
    },
    forget: () => known.clear(),
    refresh() {
      const now = otherWrites.get();
      if (now !== seen) known.clear();
      seen = now;
    },
  };
}
