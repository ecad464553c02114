import type { Quantity } from '../../physics/quantities.ts';
import { HOUR_MS } from '../vocabulary.ts';
import type { Readings } from './finding.ts';
import { type HealthSettings, healthSettings } from './settings.ts';
import { medianOf } from './shared.ts';

/**
 * Temperature readings that hour records leave out: a chip's power-on value, and a single reading far from all others of
 * its hour, which agree. Each hour is judged by its own readings alone, so that its record can be rebuilt from them alone.
 * An hour with only two readings cannot tell which of them is wrong: both count, and the finding says so.
 *
 * @returns an entry a reading, 1: set aside; null: none is
 */
export function setAside(
  { times, values }: Pick<Readings, 'times' | 'values'>,
  settings: HealthSettings = healthSettings,
): Uint8Array | null {
  let marks: Uint8Array | null = null;
  for (let first = 0; first < times.length; ) {
    const hour = Math.floor(times[first]! / HOUR_MS);
    let end = first + 1;
    let low = values[first]!;
    let high = low;
    while (end < times.length && Math.floor(times[end]! / HOUR_MS) === hour) {
      low = Math.min(low, values[end]!);
      high = Math.max(high, values[end]!);
      end++;
    }
    // nothing of it can be wild in an hour whose readings lie together, and no room is at the power-on value
    if (high === settings.powerOnC || high - low >= settings.spikeK) {
      for (let k = first; k < end; k++) {
        if (!isPowerOn(values, k, first, end, settings) && !isWild(values, k, first, end, settings)) continue;
        marks ??= new Uint8Array(times.length);
        marks[k] = 1;
      }
    }
    first = end;
  }
  return marks;
}

/** A series without the readings that hour records leave out. To be asked of readings as they came, before any correction. */
export function countedReadings<
  Column extends { readonly quantity: Quantity; readonly times: Float64Array; readonly values: Float64Array },
>(column: Column, settings: HealthSettings = healthSettings): Column {
  const marks = column.quantity === 'temperature' ? setAside(column, settings) : null;
  if (marks === null) return column;
  const { times, values } = column;
  return { ...column, times: times.filter((_, k) => marks[k] === 0), values: values.filter((_, k) => marks[k] === 0) };
}

/** Whether a reading is the chip's power-on value and not the temperature of a place as hot as that. */
export function isPowerOn(
  values: Float64Array,
  k: number,
  first: number,
  end: number,
  settings: HealthSettings,
): boolean {
  if (values[k] !== settings.powerOnC) return false;
  for (let other = first; other < end; other++) {
    const apart = Math.abs(values[other]! - settings.powerOnC);
    if (apart > 0 && apart <= settings.powerOnCompanyK) return false;
  }
  return true;
}

function isWild(values: Float64Array, k: number, first: number, end: number, settings: HealthSettings): boolean {
  const others: number[] = [];
  for (let other = first; other < end; other++) {
    if (other !== k && values[other] !== settings.powerOnC) others.push(values[other]!);
  }
  if (others.length < 2) return false;
  const middle = medianOf(others);
  return (
    Math.abs(values[k]! - middle) >= settings.spikeK &&
    others.every((other) => Math.abs(other - middle) <= settings.spikeK / 3)
  );
}
