import { applying, correctedReading, inUse } from '../analysis/calibration.ts';
import type { Latest } from '../analysis/now.ts';
import { sensorErrors } from '../analysis/sensor-errors.ts';
import type { Quantity } from '../physics/quantities.ts';
import { type ErrorPart, measured } from '../physics/uncertainty.ts';
import type { Sensor, Store } from '../store/port.ts';

export type LatestQuantities = Partial<Record<Quantity, Latest>>;

/**
 * The latest reading of each quantity at each place, corrected, among the sensors that stood there when it was measured.
 *
 * @param errorsFound what the sensor's own readings say it may be wrong by, beyond calibration or data sheet
 */
export async function latestByPlace(
  store: Store,
  dwellingId: number,
  errorsFound: (sensor: Sensor, quantity: Quantity) => readonly ErrorPart[],
): Promise<Map<number, LatestQuantities>> {
  const [placements, sensors, series, calibrations, last] = await Promise.all([
    store.placements(dwellingId),
    store.sensors(dwellingId),
    store.series(dwellingId),
    store.calibrations(dwellingId),
    store.lastReadings(dwellingId),
  ]);
  const latest = new Map<number, LatestQuantities>();
  for (const { seriesId, time, value } of last) {
    const own = series.find(({ id }) => id === seriesId);
    const sensor = sensors.find(({ id }) => id === own?.sensorId);
    const stay = placements.find(
      ({ sensorId, from, to }) => sensorId === own?.sensorId && from <= time && (to === null || time < to),
    );
    if (!own || !sensor || !stay) continue;
    const atPlace = latest.get(stay.placeId) ?? {};
    const known = atPlace[own.quantity];
    if (!known || known.time < time) {
      const calibration = applying(inUse(calibrations, seriesId), time);
      const errors = [...sensorErrors(sensor, own.quantity, calibration), ...errorsFound(sensor, own.quantity)];
      atPlace[own.quantity] = {
        time,
        measured: measured(
          calibration === null ? value : correctedReading(value, calibration.points, own.quantity),
          ...errors,
        ),
        intervalSeconds: own.intervalSeconds,
      };
    }
    latest.set(stay.placeId, atPlace);
  }
  return latest;
}
