import { checkCalibrationPoints } from '../../analysis/calibration.ts';
import { quantities } from '../../physics/quantities.ts';
import { calibrationColumns, toCalibrationRow } from '../calibration-rows.ts';
import {
  diaryColumns,
  dwellingColumns,
  phaseColumns,
  placeColumns,
  placementColumns,
  sensorColumns,
  toDwellingRow,
  toPlaceRow,
} from '../dwelling-rows.ts';
import { type RestoreStore, StoreError } from '../port.ts';
import { type Connection, write } from './database.ts';
import { insertRow } from './rows.ts';

export function restoreStore(db: Connection): RestoreStore {
  return {
    async restore({ dwelling, places, sensors, series, placements, phases, calibrations, diary }) {
      write(db, () => {
        if (db.prepare('SELECT 1 FROM dwelling').get() !== undefined) {
          throw new StoreError('already-there', 'A dwelling can only be put back into an empty database.');
        }
        // places face each other in any order
        db.pragma('defer_foreign_keys = ON');
        insertRow(db, 'dwelling', dwellingColumns, toDwellingRow(dwelling));
        for (const place of places) insertRow(db, 'place', placeColumns, { ...toPlaceRow(place), id: place.id });
        for (const sensor of sensors) insertRow(db, 'sensor', sensorColumns, sensor);
        const addSeries = db.prepare(
          'INSERT INTO series (dwelling_id, id, sensor_id, quantity, interval_seconds) VALUES (?, ?, ?, ?, ?)',
        );
        for (const { dwellingId, id, sensorId, quantity, intervalSeconds } of series) {
          addSeries.run(dwellingId, id, sensorId, quantities[quantity].wire, intervalSeconds);
        }
        for (const placement of placements) insertRow(db, 'placement', placementColumns, placement);
        for (const phase of phases) insertRow(db, 'phase', phaseColumns, phase);
        const quantityOf = new Map(series.map(({ id, quantity }) => [id, quantity]));
        for (const calibration of calibrations) {
          checkCalibrationPoints(calibration.points, quantityOf.get(calibration.seriesId) ?? 'temperature');
          insertRow(db, 'calibration', calibrationColumns, toCalibrationRow(calibration));
        }
        for (const entry of diary) insertRow(db, 'diary_entry', diaryColumns, entry);
      });
    },
  };
}
