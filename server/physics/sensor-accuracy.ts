import { type ErrorPart, standardFromLimit } from './uncertainty.ts';

/**
 * Typical accuracy that data sheets print for cheap sensor chips, as ± limits: most of them new, in the middle of their
 * range. Ageing, self-heating, condensation and a poor place come on top.
 *
 * The limits are read as rectangular: any error within them is as likely as another, so that the standard uncertainty is
 * the limit divided by √3. A calibration replaces them.
 */
export interface SensorAccuracy {
  /** ± K */
  readonly temperatureLimit: number;
  /** ± % relative humidity; null where the chip measures none */
  readonly humidityLimit: number | null;
  readonly note: string;
  readonly status: 'read' | 'from memory' | 'no source';
}

export const sensorAccuracy = Object.freeze({
  SHT31: {
    temperatureLimit: 0.3,
    humidityLimit: 2,
    note: 'typical; 0.2 K in the middle of its range',
    status: 'read',
  },
  SHT40: {
    temperatureLimit: 0.2,
    humidityLimit: 1.8,
    note: 'typical; may read 3 % high for a time after days over 80 %',
    status: 'read',
  },
  SHT45: {
    temperatureLimit: 0.1,
    humidityLimit: 1,
    note: 'typical; may read 3 % high for a time after days over 80 %',
    status: 'read',
  },
  BME280: { temperatureLimit: 1, humidityLimit: 3, note: '0.5 K at 25 °C; warms itself', status: 'read' },
  DS18B20: { temperatureLimit: 0.5, humidityLimit: null, note: '-10 to 85 °C', status: 'from memory' },
  AHT20: { temperatureLimit: 0.3, humidityLimit: 2, note: '10 to 80 % humidity', status: 'read' },
  generic: { temperatureLimit: 1, humidityLimit: 5, note: 'unknown chip: a cautious guess', status: 'no source' },
} as const satisfies Record<string, SensorAccuracy>);

export type SensorChip = keyof typeof sensorAccuracy;

/**
 * The error that a chip's data sheet leaves in its temperature (K) or humidity (%), as a part for `measured`.
 *
 * @param sensor name of this one sensor: its errors are its own
 * @returns null where the chip does not measure humidity
 * @source limits from data sheets, see each row; JCGM 100:2008 (GUM), 4.3.7 for the division by √3
 */
export function dataSheetError(
  chip: SensorChip,
  quantity: 'temperature' | 'humidity',
  sensor: string,
): ErrorPart | null {
  const { temperatureLimit, humidityLimit } = sensorAccuracy[chip];
  const limit = quantity === 'temperature' ? temperatureLimit : humidityLimit;
  return limit === null ? null : { source: `${sensor}, ${quantity}`, contribution: standardFromLimit(limit) };
}
