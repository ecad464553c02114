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
import type { Connection, Database, Transaction } from './database.ts';
import { nextId } from './ids.ts';
import { noteChange } from './journal.ts';
import { findRow, insertRow, listRows } from './rows.ts';
import { markReadings } from './stale.ts';

const list = async (db: Connection, dwellingId: number): Promise<CalibrationRecord[]> =>
  (await listRows(db, 'calibration', calibrationColumns, dwellingId, 'id')).map(toCalibration);

/** A calibration reaches from its beginning to that of the next in use. */
async function markReach(
  tx: Transaction,
  dwellingId: number,
  { seriesId, from }: { seriesId: number; from: number },
): Promise<void> {
  const next = inUse(await list(tx, dwellingId), seriesId).find((other) => other.from > from);
  await markReadings(tx, dwellingId, [seriesId], from, next?.from ?? Number.MAX_SAFE_INTEGER);
}

export function calibrationStore(db: Database): CalibrationStore {
  return {
    async calibrations(dwellingId) {
      return list(db, dwellingId);
    },

    async addCalibrations(dwellingId, calibrations) {
      return db.inTurn(dwellingId, async (tx) => {
        const records: CalibrationRecord[] = [];
        for (const calibration of calibrations) {
          const { quantity } = await findRow(tx, 'series', seriesColumns, dwellingId, calibration.seriesId);
          checkCalibrationPoints(calibration.points, quantity);
          checkCalibrationUncertainty(calibration, quantity);
          oneOf('method', calibration.method, calibrationMethods);
          wholeTime('from', calibration.from);
          wholeTime('madeAt', calibration.madeAt);
          const id = await nextId(tx, dwellingId, 'calibration');
          const record = { ...calibration, id, dwellingId, withdrawnAt: null };
          await insertRow(tx, 'calibration', calibrationColumns, toCalibrationRow(record));
          await markReach(tx, dwellingId, record);
          records.push(record);
        }
        return records;
      });
    },

    async withdrawCalibration(dwellingId, id, withdrawnAt) {
      wholeTime('withdrawnAt', withdrawnAt);
      return db.inTurn(dwellingId, async (tx) => {
        const record = toCalibration(await findRow(tx, 'calibration', calibrationColumns, dwellingId, id));
        if (record.withdrawnAt !== null) return record;
        await tx.run('UPDATE calibration SET withdrawn_at = $3 WHERE dwelling_id = $1 AND id = $2', [
          dwellingId,
          id,
          withdrawnAt,
        ]);
        await noteChange(tx, 'calibration', dwellingId, id);
        await markReach(tx, dwellingId, record);
        return { ...record, withdrawnAt };
      });
    },
  };
}
