import {
  calibrationMethods,
  checkCalibrationPoints,
  checkCalibrationUncertainty,
  inUse,
} from '../../analysis/calibration.ts';
import type { CalibrationRecord, CalibrationStore } from '../port.ts';
import { oneOf, wholeTime } from './arguments.ts';
import { type Connection, write } from './database.ts';
import { seriesColumns } from './dwellings.ts';
import { idGiver } from './ids.ts';
import { noteChange } from './journal.ts';
import { type Columns, findRow, insertRow, listRows, requireDwelling } from './rows.ts';
import { staleMarks } from './stale.ts';

interface Row extends Omit<CalibrationRecord, 'points'> {
  readonly reading1: number;
  readonly reference1: number;
  readonly reading2: number | null;
  readonly reference2: number | null;
}

export const calibrationColumns: Columns<Row> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  seriesId: 'series_id',
  from: 'from_time',
  method: 'method',
  reading1: 'reading_1',
  reference1: 'reference_1',
  reading2: 'reading_2',
  reference2: 'reference_2',
  uncertainty: 'uncertainty',
  sharedSource: 'shared_source',
  sharedUncertainty: 'shared_uncertainty',
  note: 'note',
  madeAt: 'made_at',
  withdrawnAt: 'withdrawn_at',
};

export function calibrationStore(db: Connection): CalibrationStore {
  const nextId = idGiver(db);
  const stale = staleMarks(db);
  const list = (dwellingId: number): CalibrationRecord[] =>
    listRows(db, 'calibration', calibrationColumns, dwellingId, 'id').map(toRecord);

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
        const record = toRecord(findRow(db, 'calibration', calibrationColumns, dwellingId, id));
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

function toRecord({ reading1, reference1, reading2, reference2, ...rest }: Row): CalibrationRecord {
  const first = { reading: reading1, reference: reference1 };
  const points = reading2 === null ? [first] : [first, { reading: reading2, reference: reference2! }];
  return { ...rest, points };
}

export function toCalibrationRow({ points, ...rest }: CalibrationRecord): Row {
  const [first, second] = points;
  return {
    ...rest,
    reading1: first!.reading,
    reference1: first!.reference,
    reading2: second?.reading ?? null,
    reference2: second?.reference ?? null,
  };
}
