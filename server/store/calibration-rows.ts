import type { CalibrationRecord } from './port.ts';
import type { Columns } from './row-columns.ts';

export interface CalibrationRow extends Omit<CalibrationRecord, 'points'> {
  readonly reading1: number;
  readonly reference1: number;
  readonly reading2: number | null;
  readonly reference2: number | null;
}

export const calibrationColumns: Columns<CalibrationRow> = {
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

export function toCalibration({
  reading1,
  reference1,
  reading2,
  reference2,
  ...rest
}: CalibrationRow): CalibrationRecord {
  const first = { reading: reading1, reference: reference1 };
  const points = reading2 === null ? [first] : [first, { reading: reading2, reference: reference2! }];
  return { ...rest, points };
}

export function toCalibrationRow({ points, ...rest }: CalibrationRecord): CalibrationRow {
  const [first, second] = points;
  return {
    ...rest,
    reading1: first!.reading,
    reference1: first!.reference,
    reading2: second?.reading ?? null,
    reference2: second?.reference ?? null,
  };
}
