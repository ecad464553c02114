import type { Quantity } from '../physics/quantities.ts';
import { dataSheetError, type SensorChip, sensorAccuracy } from '../physics/sensor-accuracy.ts';
import { type ErrorPart, standardFromLimit } from '../physics/uncertainty.ts';
import type { SensorUncertainty } from './assessment.ts';
import { assumedUncertainty } from './assessment-settings.ts';

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

/**
 * What to assume of the sensors that stood at a place, by their data sheets: the least accurate of them.
 *
 * @param models types of the sensors, as their users name them
 * @returns null where no sensor's type is known: the assessment then makes its own assumption and says so
 */
export function dataSheetUncertainty(models: readonly (string | null)[]): SensorUncertainty | null {
  const known = [...new Set(models.map(chipOf))].filter((chip) => chip !== 'generic');
  if (known.length === 0 || known.length < new Set(models.map(chipOf)).size) return null;
  const worst = (limits: readonly number[]): number => standardFromLimit(Math.max(0, ...limits));
  return {
    ...assumedUncertainty,
    temperatureOffsetK: worst(known.map((chip) => sensorAccuracy[chip].temperatureLimit)),
    humidityOffsetPct: worst(known.map((chip) => sensorAccuracy[chip].humidityLimit ?? 0)),
    source: `data sheet of ${known.join(' and ')}, not calibrated`,
  };
}
