import type { Quantity } from '../physics/quantities.ts';
import { dataSheetError, type SensorChip, sensorAccuracy } from '../physics/sensor-accuracy.ts';
import type { ErrorPart } from '../physics/uncertainty.ts';

const chips = Object.keys(sensorAccuracy) as SensorChip[];

/** The chip that a sensor's type names, in any spelling; a type that names none of ours is a generic sensor. */
export function chipOf(model: string | null): SensorChip {
  const plain = (model ?? '').toUpperCase().replace(/[^A-Z0-9]/g, '');
  return chips.find((chip) => plain.includes(chip.toUpperCase())) ?? 'generic';
}

/**
 * The errors that an uncalibrated sensor may have in one quantity, by the data sheet of its chip. Empty for quantities
 * of which no typical accuracy is known.
 *
 * @param sensor name of this one sensor: its errors are its own
 */
export function sensorErrors(model: string | null, quantity: Quantity, sensor: string): ErrorPart[] {
  if (quantity !== 'temperature' && quantity !== 'humidity') return [];
  const error = dataSheetError(chipOf(model), quantity, sensor);
  return error === null ? [] : [error];
}
