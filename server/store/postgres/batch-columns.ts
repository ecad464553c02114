import type { Quantity } from '../../physics/quantities.ts';
import { checkReading } from '../batch.ts';
import type { IncomingReading } from '../port.ts';

/** Readings of a batch as columns, an entry each in the order in which they came. */
export interface BatchColumns {
  readonly dwellingIds: Float64Array;
  readonly sensorKeys: readonly string[];
  readonly quantities: readonly Quantity[];
  readonly times: Float64Array;
  readonly values: Float64Array;
}

/**
 * Checks readings and lays them out, looking at each once: they are made in many places of the program, and a look at
 * objects of many makes costs several times what a look at numbers in a row does.
 *
 * @throws RangeError for a reading that cannot be kept
 */
export function checkedColumns(readings: readonly IncomingReading[]): BatchColumns {
  const { length } = readings;
  const sensorKeys = new Array<string>(length);
  const quantities = new Array<Quantity>(length);
  const dwellingIds = new Float64Array(length);
  const times = new Float64Array(length);
  const values = new Float64Array(length);
  for (let k = 0; k < length; k++) {
    const { dwellingId, sensorKey, quantity, time, value } = readings[k]!;
    checkReading(sensorKey, quantity, time, value);
    sensorKeys[k] = sensorKey;
    quantities[k] = quantity;
    dwellingIds[k] = dwellingId;
    times[k] = time;
    // no zero below zero, which would read as another value
    values[k] = value + 0;
  }
  return { dwellingIds, sensorKeys, quantities, times, values };
}
