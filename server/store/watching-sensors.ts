import { inUse } from '../analysis/calibration.ts';
import type { WatchingSensor } from '../analysis/sensor-errors.ts';
import type { CalibrationRecord, Placement, Sensor, Series } from './port.ts';

/** What the store keeps about the sensors of a dwelling. */
export interface SensorRows {
  readonly placements: readonly Placement[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly calibrations: readonly CalibrationRecord[];
}

/** The sensors that stood at a place, and the calibrations in use of each. */
export function watchingSensors(placeId: number, rows: SensorRows): WatchingSensor[] {
  return rows.placements
    .filter((placement) => placement.placeId === placeId)
    .map(({ sensorId, from, to }) => {
      const sensor = rows.sensors.find(({ id }) => id === sensorId);
      const calibrationsOf = (quantity: 'temperature' | 'humidity') => {
        const own = rows.series.find((candidate) => candidate.sensorId === sensorId && candidate.quantity === quantity);
        return own === undefined ? null : inUse(rows.calibrations, own.id);
      };
      return {
        key: sensor?.key ?? '',
        model: sensor?.model ?? null,
        from,
        to,
        temperature: calibrationsOf('temperature'),
        humidity: calibrationsOf('humidity'),
      };
    });
}
