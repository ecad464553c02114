/**
 * Returns `value` when it lies in `[low, high]`; NaN and infinities fail. Two comparisons: cheap enough for a loop over
 * years of hours.
 *
 * @throws RangeError naming the parameter, the value, the unit and the range
 */
export function inRange(parameter: string, value: number, unit: string, low: number, high: number): number {
  if (value >= low && value <= high) return value;
  return refuse(parameter, value, unit, low, high);
}

/**
 * Returns `value` when it lies in `(low, high]`; NaN and infinities fail.
 *
 * @throws RangeError naming the parameter, the value, the unit and the range
 */
export function above(parameter: string, value: number, unit: string, low: number, high: number): number {
  if (value > low && value <= high) return value;
  throw new RangeError(
    `${parameter} is ${written(value, unit)}; it must be above ${low} and at most ${written(high, unit)}`,
  );
}

/**
 * Refuses columns of different length, which cannot describe the same hours.
 *
 * @throws RangeError naming both columns and both lengths
 */
export function sameLength(
  parameter: string,
  column: ArrayLike<number>,
  otherParameter: string,
  other: ArrayLike<number>,
): void {
  if (column.length === other.length) return;
  throw new RangeError(
    `${parameter} has ${column.length} entries and ${otherParameter} has ${other.length}; they must have the same number`,
  );
}

/** Apart from {@link inRange} so that the check itself stays small enough to be inlined. */
function refuse(parameter: string, value: number, unit: string, low: number, high: number): never {
  throw new RangeError(
    `${parameter} is ${written(value, unit)}; it must lie between ${low} and ${written(high, unit)}`,
  );
}

const written = (value: number, unit: string): string => (unit === '' ? `${value}` : `${value} ${unit}`);
