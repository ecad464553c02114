import { type Quantity, quantities } from '../physics/quantities.ts';
import { inRange } from '../physics/range.ts';

/** How a reference value was had. */
export const calibrationMethods = ['side-by-side', 'salt', 'ice-point', 'reference-instrument'] as const;
export type CalibrationMethod = (typeof calibrationMethods)[number];

/** What the sensor read, and what it should have read, in the unit of its series. */
export interface CalibrationPoint {
  readonly reading: number;
  readonly reference: number;
}

/**
 * What a corrected reading may still be wrong by, as standard uncertainties (k = 1) in the unit of the series. The part
 * that came with the reference is shared with every sensor corrected against it, and cancels in their differences.
 */
export interface CalibrationUncertainty {
  /** of a corrected reading, the shared part included */
  readonly uncertainty: number;
  /** names the reference, e.g. `side-by-side run of 2025-10-02T21:00Z, temperature`; null: shared with nobody */
  readonly sharedSource: string | null;
  /** 0 where nothing is shared */
  readonly sharedUncertainty: number;
}

/** A dated correction of one series. Raw readings keep their values; it is applied on the way out. */
export interface Calibration extends CalibrationUncertainty {
  readonly seriesId: number;
  /** UTC milliseconds from which it applies, until a later one does */
  readonly from: number;
  readonly method: CalibrationMethod;
  /** one point: a constant offset; two: the straight line through them */
  readonly points: readonly CalibrationPoint[];
  /** UTC milliseconds at which the sensor was compared */
  readonly madeAt: number;
  /** UTC milliseconds at which it was taken back; null: in use */
  readonly withdrawnAt: number | null;
}

/**
 * A line steeper or flatter than this belongs to a broken sensor, or to points that were mixed up. No source: common
 * practice.
 */
const SLOPE = { least: 0.5, most: 2 } as const;

/**
 * Checks that a correction can be made of these points and is one that a working sensor may need.
 *
 * @throws RangeError for no point, more than two, a value that the quantity cannot have, or a line that is no correction
 */
export function checkCalibrationPoints(points: readonly CalibrationPoint[], quantity: Quantity): void {
  if (points.length < 1 || points.length > 2) {
    throw new RangeError(`a calibration has one point (an offset) or two (a line), not ${points.length}`);
  }
  const { unit, low, high } = quantities[quantity];
  for (const { reading, reference } of points) {
    inRange(`reading of a ${quantity} calibration`, reading, unit, low, high);
    inRange(`reference of a ${quantity} calibration`, reference, unit, low, high);
  }
  const [first, second] = points;
  if (first === undefined || second === undefined) return;
  if (first.reading === second.reading) {
    throw new RangeError(
      `both calibration points have the reading ${first.reading} ${unit}: a line needs two different`,
    );
  }
  const slope = slopeOf(first, second);
  if (!(slope >= SLOPE.least && slope <= SLOPE.most)) {
    throw new RangeError(
      `the calibration points make a line of slope ${slope.toPrecision(3)}; it must lie between ${SLOPE.least} and ` +
        `${SLOPE.most}: look whether readings and references were mixed up`,
    );
  }
}

/** @throws RangeError unless it is above 0 and its shared part is no larger than the whole */
export function checkCalibrationUncertainty(given: CalibrationUncertainty, quantity: Quantity): void {
  const { uncertainty, sharedSource, sharedUncertainty } = given;
  const { unit, high } = quantities[quantity];
  if (!(uncertainty > 0 && uncertainty <= high)) {
    throw new RangeError(`uncertainty is ${uncertainty} ${unit}; it must be above 0 and at most ${high} ${unit}`);
  }
  inRange('sharedUncertainty', sharedUncertainty, unit, 0, uncertainty);
  if (sharedSource === null && sharedUncertainty > 0) {
    throw new RangeError(`sharedUncertainty is ${sharedUncertainty} ${unit}; without a sharedSource it must be 0`);
  }
  if (sharedSource !== null && sharedSource.trim() === '') {
    throw new RangeError('sharedSource is empty; it must name the reference, or be null');
  }
}

const slopeOf = (first: CalibrationPoint, second: CalibrationPoint): number =>
  (second.reference - first.reference) / (second.reading - first.reading);

/** The reading as it should have been. */
export function corrected(reading: number, points: readonly CalibrationPoint[]): number {
  const first = points[0]!;
  const second = points[1];
  if (second === undefined) return reading + (first.reference - first.reading);
  return first.reference + slopeOf(first, second) * (reading - first.reading);
}

/**
 * The reading as it should have been, held within what the quantity can be: a correction of a humidity of 1 % by -3 %
 * gives 0 %. Humidity may go up to the over-read of {@link quantities}; the hours count it as 100 %, as they do uncorrected.
 */
export function correctedReading(reading: number, points: readonly CalibrationPoint[], quantity: Quantity): number {
  const { low, high } = quantities[quantity];
  return Math.min(high, Math.max(low, corrected(reading, points)));
}

/**
 * The calibrations of one series that are in use, oldest first; of two that apply from one instant the later in the list
 * comes later, and so is the one that counts.
 */
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
  quantity: Quantity,
): Float64Array {
  if (ordered.length === 0 || times.length === 0 || times[times.length - 1]! < ordered[0]!.from) return values;
  const result = Float64Array.from(values);
  let next = 0;
  let current: Calibration | null = null;
  for (let k = 0; k < times.length; k++) {
    while (next < ordered.length && ordered[next]!.from <= times[k]!) current = ordered[next++]!;
    if (current !== null) result[k] = correctedReading(values[k]!, current.points, quantity);
  }
  return result;
}
