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
import type { Database } from './database.ts';
import { insertRow } from './rows.ts';

export function restoreStore(db: Database): RestoreStore {
  return {
    async restore({ dwelling, places, sensors, series, placements, phases, calibrations, diary }) {
      await db.write(async (tx) => {
        if ((await tx.first('SELECT 1 FROM dwelling LIMIT 1')) !== undefined) {
          throw new StoreError('already-there', 'A dwelling can only be put back into an empty database.');
        }
        // places face each other in any order
        await tx.run('SET CONSTRAINTS ALL DEFERRED');
        await insertRow(tx, 'dwelling', dwellingColumns, toDwellingRow(dwelling));
        for (const place of places) {
          await insertRow(tx, 'place', placeColumns, { ...toPlaceRow(place), id: place.id });
        }
        for (const sensor of sensors) await insertRow(tx, 'sensor', sensorColumns, sensor);
        for (const { dwellingId, id, sensorId, quantity, intervalSeconds } of series) {
          await tx.run(
            'INSERT INTO series (dwelling_id, id, sensor_id, quantity, interval_seconds) VALUES ($1, $2, $3, $4, $5)',
            [dwellingId, id, sensorId, quantities[quantity].wire, intervalSeconds],
          );
        }
        for (const placement of placements) await insertRow(tx, 'placement', placementColumns, placement);
        for (const phase of phases) await insertRow(tx, 'phase', phaseColumns, phase);
        const quantityOf = new Map(series.map(({ id, quantity }) => [id, quantity]));
        for (const calibration of calibrations) {
          checkCalibrationPoints(calibration.points, quantityOf.get(calibration.seriesId) ?? 'temperature');
          await insertRow(tx, 'calibration', calibrationColumns, toCalibrationRow(calibration));
        }
        for (const entry of diary) await insertRow(tx, 'diary_entry', diaryColumns, entry);
      });
    },
  };
}
