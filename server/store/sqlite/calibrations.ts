import {
  calibrationMethods,
  checkCalibrationPoints,
  checkCalibrationUncertainty,
  inUse,
} from '../../analysis/calibration.ts';
import { oneOf, wholeTime } from '../arguments.ts';
import { calibrationColumns, toCalibration, toCalibrationRow } from '../calibration-rows.ts';
import { seriesColumns } from '../dwelling-rows.ts';
import type { CalibrationRecord, CalibrationStore } from '../port.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { noteChange } from './journal.ts';
import { findRow, insertRow, listRows, requireDwelling } from './rows.ts';
import { staleMarks } from './stale.ts';

export function calibrationStore(db: Connection): CalibrationStore {
  const nextId = idGiver(db);
  const stale = staleMarks(db);
  const list = (dwellingId: number): CalibrationRecord[] =>
    listRows(db, 'calibration', calibrationColumns, dwellingId, 'id').map(toCalibration);

  /** A calibration reaches from its beginning to that of the next in use. */
  function markReach(dwellingId: number, { seriesId, from }: { seriesId: number; from: number }): void {
    const next = inUse(list(dwellingId), seriesId).find((other) => other.from > from);
    stale.markReadings(dwellingId, [seriesId], from, next?.from ?? Number.MAX_SAFE_INTEGER);
  }

  return {
    async calibrations(dwellingId) {
      return list(dwellingId);
    },

    async addCalibrations(dwellingId, calibrations) {
      return write(db, () => {
        requireDwelling(db, dwellingId);
        return calibrations.map((calibration) => {
          const { quantity } = findRow(db, 'series', seriesColumns, dwellingId, calibration.seriesId);
          checkCalibrationPoints(calibration.points, quantity);
          checkCalibrationUncertainty(calibration, quantity);
          oneOf('method', calibration.method, calibrationMethods);
          wholeTime('from', calibration.from);
          wholeTime('madeAt', calibration.madeAt);
          const id = nextId(dwellingId, 'calibration');
          const record = { ...calibration, id, dwellingId, withdrawnAt: null };
          insertRow(db, 'calibration', calibrationColumns, toCalibrationRow(record));
          markReach(dwellingId, record);
          return record;
        });
      });
    },

    async withdrawCalibration(dwellingId, id, withdrawnAt) {
      wholeTime('withdrawnAt', withdrawnAt);
      return write(db, () => {
        const record = toCalibration(findRow(db, 'calibration', calibrationColumns, dwellingId, id));
        if (record.withdrawnAt !== null) return record;
        db.prepare('UPDATE calibration SET withdrawn_at = ? WHERE dwelling_id = ? AND id = ?').run(
          withdrawnAt,
          dwellingId,
          id,
        );
        noteChange(db, 'calibration', dwellingId, id);
        markReach(dwellingId, record);
        return { ...record, withdrawnAt };
      });
    },
  };
}
