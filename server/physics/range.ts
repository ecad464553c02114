/**
 * Returns `value` when it lies in `[low, high]`; NaN and infinities fail.
 *
 * @throws RangeError naming the parameter, the value, the unit and the range
 */
export function inRange(parameter: string, value: number, unit: string, low: number, high: number): number {
  if (value >= low && value <= high) return value;
  throw new RangeError(`${parameter} is ${value} ${unit}; it must lie between ${low} and ${high} ${unit}`);
}
