import { type Quantity, quantities, quantityNames } from '../physics/quantities.ts';
import { inRange } from '../physics/range.ts';
import { filled, oneOf, wholeTime } from './arguments.ts';
import type { Batch } from './port.ts';

/** @throws RangeError for a reading that cannot be kept */
export function checkBatch({ receivedAt, readings }: Batch): void {
  wholeTime('receivedAt', receivedAt);
  for (const { sensorKey, quantity, time, value } of readings) checkReading(sensorKey, quantity, time, value);
}

/** @throws RangeError when it cannot be kept */
export function checkReading(sensorKey: string, quantity: Quantity, time: number, value: number): void {
  filled('sensorKey', sensorKey);
  oneOf('quantity', quantity, quantityNames);
  wholeTime('time', time);
  const { unit, low, high } = quantities[quantity];
  inRange(quantity, value, unit, low, high);
}
