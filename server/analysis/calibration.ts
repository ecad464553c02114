/** How a reference value was had. */
export const calibrationMethods = ['side-by-side', 'salt', 'ice-point', 'reference-instrument'] as const;
export type CalibrationMethod = (typeof calibrationMethods)[number];

/** What the sensor read, and what it should have read, in the unit of its series. */
export interface CalibrationPoint {
  readonly reading: number;
  readonly reference: number;
}

/** A dated correction of one series. Raw readings keep their values; it is applied on the way out. */
export interface Calibration {
  readonly seriesId: number;
  /** UTC milliseconds from which it applies, until a later one does */
  readonly from: number;
  readonly method: CalibrationMethod;
  /** one point: a constant offset; two: the straight line through them */
  readonly points: readonly CalibrationPoint[];
  /** standard uncertainty (k = 1) of a corrected reading, in the unit of the series */
  readonly uncertainty: number;
  /** UTC milliseconds at which it was taken back; null: in use */
  readonly withdrawnAt: number | null;
}

/**
 * Checks that a correction can be made of these points.
 *
 * @throws RangeError for no point, more than two, or two with one reading
 */
export function checkCalibrationPoints(points: readonly CalibrationPoint[]): void {
  if (points.length < 1 || points.length > 2) {
    throw new RangeError(`a calibration has one point (an offset) or two (a line), not ${points.length}`);
  }
  for (const { reading, reference } of points) {
    if (!Number.isFinite(reading) || !Number.isFinite(reference))
      throw new RangeError('calibration points must be numbers');
  }
  if (points.length === 2 && points[0]!.reading === points[1]!.reading) {
    throw new RangeError(
      `both calibration points have the reading ${points[0]!.reading}: a line needs two different ones`,
    );
  }
}

/** The reading as it should have been. */
export function corrected(reading: number, points: readonly CalibrationPoint[]): number {
  const first = points[0]!;
  const second = points[1];
  if (second === undefined) return reading + (first.reference - first.reading);
  const slope = (second.reference - first.reference) / (second.reading - first.reading);
  return first.reference + slope * (reading - first.reading);
}

/** The calibrations of one series that are in use, oldest first. */
export const inUse = <T extends Calibration>(calibrations: readonly T[], seriesId: number): T[] =>
  calibrations
    .filter((calibration) => calibration.seriesId === seriesId && calibration.withdrawnAt === null)
    .sort((a, b) => a.from - b.from);

/** The calibration that applies at a time, or null: the latest that began at or before it. */
export const applying = <T extends Calibration>(ordered: readonly T[], time: number): T | null =>
  ordered.findLast(({ from }) => from <= time) ?? null;

/**
 * Corrects a column of readings.
 *
 * @param times UTC milliseconds, ascending
 * @param ordered the calibrations of that series in use, oldest first
 * @returns a new column, or `values` itself where nothing applies
 */
export function correctedColumn(
  times: Float64Array,
  values: Float64Array,
  ordered: readonly Calibration[],
): Float64Array {
  if (ordered.length === 0 || times.length === 0 || times[times.length - 1]! < ordered[0]!.from) return values;
  const result = Float64Array.from(values);
  let next = 0;
  let current: Calibration | null = null;
  for (let k = 0; k < times.length; k++) {
    while (next < ordered.length && ordered[next]!.from <= times[k]!) current = ordered[next++]!;
    if (current !== null) result[k] = corrected(values[k]!, current.points);
  }
  return result;
}
