import { HOUR_MS } from '../analysis/vocabulary.ts';

/** Last millisecond of the year 9999: no reading of ours lies beyond it, and integer division stays exact. */
const TIME_MAX = 253_402_300_799_999;

/** @throws RangeError unless `time` is a whole number of UTC milliseconds from 1970 on */
export function wholeTime(parameter: string, time: number): number {
  if (Number.isInteger(time) && time >= 0 && time <= TIME_MAX) return time;
  throw new RangeError(`${parameter} is ${time} ms; it must be a whole number between 0 and ${TIME_MAX} ms`);
}

/** Clips the bounds of a span, which may be infinite, to the times that can be stored. */
export function spanBound(parameter: string, time: number): number {
  if (Number.isNaN(time)) throw new RangeError(`${parameter} is NaN ms; it must be a time`);
  return Math.ceil(Math.min(Math.max(time, 0), TIME_MAX + 1));
}

/** @throws RangeError unless `hour` is the beginning of a UTC hour */
export function wholeHour(parameter: string, hour: number): number {
  if (wholeTime(parameter, hour) % HOUR_MS === 0) return hour;
  throw new RangeError(`${parameter} is ${hour} ms; it must be a whole hour, a multiple of ${HOUR_MS} ms`);
}

/** @throws RangeError unless `limit` is a count of at least 1 */
export function wholeLimit(limit: number): number {
  if (Number.isSafeInteger(limit) && limit >= 1) return limit;
  throw new RangeError(`limit is ${limit} rows; it must be a whole number from 1 on`);
}

export function finite(parameter: string, value: number): number {
  if (Number.isFinite(value)) return value;
  throw new RangeError(`${parameter} is ${value}; it must be a finite number`);
}

export function oneOf<T extends string>(parameter: string, value: T, allowed: readonly T[]): T {
  if (allowed.includes(value)) return value;
  throw new RangeError(`${parameter} is '${value}'; it must be one of ${allowed.join(', ')}`);
}

export function filled(parameter: string, text: string): string {
  if (typeof text === 'string' && text.trim() !== '') return text;
  throw new RangeError(`${parameter} is '${text}'; it must be text that is not empty`);
}
