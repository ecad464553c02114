import { batteryTrend } from '../analysis/health/battery.ts';
import type { Readings, SensorWindow } from '../analysis/health/finding.ts';
import { sensorFindings } from '../analysis/health/sensor-findings.ts';
import { healthSettings } from '../analysis/health/settings.ts';
import { HOUR_MS, isSurface } from '../analysis/vocabulary.ts';
import type { SensorFinding } from '../analysis/watch/history.ts';
import type { Quantity } from '../physics/quantities.ts';
import { type ErrorPart, standardFromLimit } from '../physics/uncertainty.ts';
import type { Dwelling, Place, Placement, Sensor, SeriesColumns, Store } from '../store/port.ts';
import type { ArrivalWatch } from './arrivals.ts';
import type {
  BatteryState,
  SensorHealth,
  SensorFinding as WireFinding,
  Sensor as WireSensor,
} from './contract/dwelling.ts';
import type { Revisions } from './revisions.ts';
import { findingView, toInstant } from './views.ts';

/** What is known of each sensor's health, over the last two weeks. */
export interface DwellingHealth {
  readonly workedOutAt: number;
  readonly from: number;
  readonly to: number;
  readonly ofSensor: HealthOfSensors;
}

type HealthOfSensors = ReadonlyMap<number, OneSensor>;
type OneSensor = Pick<SensorHealth, 'findings' | 'battery'>;

/** A sensor added since the health was worked out has none yet. */
export const healthOf = (sensors: HealthOfSensors, id: number): OneSensor =>
  sensors.get(id) ?? { findings: [], battery: null };

/** The errors that findings add to what a sensor may be wrong by: a limit within which any error is as likely. */
export const errorsFound =
  (sensors: HealthOfSensors) =>
  ({ id, key }: Pick<Sensor, 'id' | 'key'>, quantity: Quantity): ErrorPart[] =>
    healthOf(sensors, id).findings.flatMap(({ code, effect }) =>
      effect.kind === 'wider' && effect.quantity === quantity
        ? [{ source: `${key}, ${code}`, contribution: standardFromLimit(effect.limit) }]
        : [],
    );

/** Findings about the sensors that a place's figures rest on: those that stand there, and at a surface the room's. */
export function findingsAbout(
  placeId: number,
  places: readonly Place[],
  sensors: readonly WireSensor[],
): WireFinding[] {
  const place = places.find(({ id }) => id === placeId);
  if (place === undefined) return [];
  const room = isSurface(place.kind)
    ? (place.facesPlaceId ?? places.find(({ kind }) => kind === 'room-air')?.id ?? null)
    : null;
  return sensors
    .filter(({ placements }) =>
      placements.some(({ placeId: at, to }) => to === null && (at === placeId || at === room)),
    )
    .flatMap(({ health }) => health.findings);
}

export type HealthParts = {
  readonly store: Store;
  readonly clock: () => number;
  readonly revisions: Pick<Revisions, 'of'>;
  readonly arrivals: Pick<ArrivalWatch, 'of'>;
};

/** A result that people look at holds so long at most, while nothing but new readings has changed, ms. */
const HOLDS_MS = 2 * 60_000;
const MOST_CONFLICTS = 10_000;
const MOST_GROUPS = 1_000;

/** Works sensor health out when it is asked for, and keeps it for `holdsMs` or until the story changes. */
export function createHealthReader(
  parts: HealthParts,
  holdsMs: number = HOLDS_MS,
): (dwelling: Dwelling) => Promise<DwellingHealth> {
  const kept = new Map<number, { until: number; revision: number; result: Promise<DwellingHealth> }>();
  return (dwelling) => {
    const now = parts.clock();
    const revision = parts.revisions.of(dwelling.id);
    const known = kept.get(dwelling.id);
    if (known !== undefined && now < known.until && known.revision === revision) return known.result;
    const result = readHealth(parts, dwelling, now);
    kept.set(dwelling.id, { until: now + holdsMs, revision, result });
    result.catch(() => kept.delete(dwelling.id));
    return result;
  };
}

interface Window {
  readonly sensor: Sensor;
  readonly window: SensorWindow;
}

type WindowParts = Pick<HealthParts, 'store' | 'arrivals'>;

/** What the rules of sensor health look at, for every sensor of a home, two weeks up to a moment. */
async function sensorWindows({ store, arrivals }: WindowParts, dwelling: Dwelling, now: number): Promise<Window[]> {
  const from = now - healthSettings.windowMs;
  const start = Math.ceil(from / HOUR_MS) * HOUR_MS;
  const end = Math.floor(now / HOUR_MS) * HOUR_MS;
  const { id } = dwelling;
  const [sensors, placements, places, series, last, columns, conflicts, groups] = await Promise.all([
    store.sensors(id),
    store.placements(id),
    store.places(id),
    store.series(id),
    store.lastReadings(id),
    store.seriesColumns(id, from, now),
    store.conflicts(id, MOST_CONFLICTS),
    store.quarantineGroups(MOST_GROUPS),
  ]);
  const means = await Promise.all(
    places.map(async ({ id: placeId, name, kind }) => {
      const { temperature, vapourPressure } = await store.placeHours(id, placeId, start, end);
      return { placeId, name, kind, temperature, vapourPressure };
    }),
  );
  const refused = (key: string, code: string): number =>
    groups
      .filter((group) => group.topic === `coomb/${dwelling.slug}/${key}` && group.code === code && group.lastAt >= from)
      .reduce((sum, { count }) => sum + count, 0);

  const windowOf = (sensor: Sensor): SensorWindow => {
    const stay = placements.find(({ sensorId, to }) => sensorId === sensor.id && to === null);
    const place = places.find((candidate) => candidate.id === stay?.placeId);
    const own = series.filter(({ sensorId }) => sensorId === sensor.id);
    const ids = new Set(own.map((one) => one.id));
    const room =
      place?.facesPlaceId ?? places.find(({ kind, id: roomId }) => kind === 'room-air' && roomId !== place?.id)?.id;
    return {
      key: sensor.key,
      model: sensor.model,
      from,
      now,
      placedFrom: stay?.from ?? null,
      placeId: place?.id ?? null,
      kind: place?.kind ?? null,
      companions: placements.filter(
        ({ placeId, sensorId, to }) => placeId === place?.id && sensorId !== sensor.id && (to === null || to > from),
      ).length,
      facesPlaceId: place !== undefined && isSurface(place.kind) ? (room ?? null) : null,
      series: seriesWithin(columns, sensor, stay, from),
      last: last.reduce<number | null>(
        (latest, { seriesId, time }) => (ids.has(seriesId) && time > (latest ?? time - 1) ? time : latest),
        null,
      ),
      conflicts: conflicts.filter(({ seriesId, time }) => ids.has(seriesId) && time >= from).length,
      clockAhead: refused(sensor.key, 'clock-ahead'),
      clockTooEarly: refused(sensor.key, 'clock-too-early'),
      arrivals: arrivals.of(id, sensor.key),
      start,
      places: means,
    };
  };
  return sensors.map((sensor) => ({ sensor, window: windowOf(sensor) }));
}

async function readHealth(parts: HealthParts, dwelling: Dwelling, now: number): Promise<DwellingHealth> {
  return {
    workedOutAt: now,
    from: now - healthSettings.windowMs,
    to: now,
    ofSensor: new Map(
      (await sensorWindows(parts, dwelling, now)).map(({ sensor, window }) => [
        sensor.id,
        {
          findings: sensorFindings(window).map((finding) => findingView(finding, sensor)),
          battery: batteryOf(window.series.battery),
        },
      ]),
    ),
  };
}

/**
 * What the readings up to a moment say about the sensors, as it was known then: from readings alone, for arrivals are
 * forgotten at a restart. A sensor that was silent for two weeks by then and was heard again since is not seen as silent.
 */
export async function findingsAt(store: Store, dwelling: Dwelling, time: number): Promise<SensorFinding[]> {
  const windows = await sensorWindows({ store, arrivals: { of: () => null } }, dwelling, time);
  return windows.flatMap(({ sensor, window }) => {
    const seen = Object.values(window.series).flatMap(({ times }) => (times.length === 0 ? [] : [times.at(-1)!]));
    const lastThen = seen.length === 0 ? null : Math.max(...seen);
    const last = window.last !== null && window.last < time ? window.last : lastThen;
    return sensorFindings({ ...window, last }).map((finding) => ({
      sensorId: sensor.id,
      sensorName: sensor.name,
      placeId: window.placeId,
      finding,
    }));
  });
}

/** A sensor's series since it stands where it stands: what it did elsewhere says nothing of this place. */
function seriesWithin(
  columns: readonly SeriesColumns[],
  sensor: Sensor,
  stay: Placement | undefined,
  from: number,
): Partial<Record<Quantity, Readings>> {
  const begins = Math.max(from, stay?.from ?? from);
  return Object.fromEntries(
    columns
      .filter(({ sensorId }) => sensorId === sensor.id)
      .flatMap(({ quantity, times, values, intervalSeconds }) => {
        const first = times.findIndex((time) => time >= begins);
        if (first < 0) return [];
        return [[quantity, { times: times.subarray(first), values: values.subarray(first), intervalSeconds }]];
      }),
  );
}

function batteryOf(readings: Readings | undefined): BatteryState | null {
  const trend = batteryTrend(readings, healthSettings);
  if (trend === null) return null;
  return { volts: trend.volts, cutOffVolts: trend.cutOffVolts, daysLeft: trend.daysLeft };
}

/** What was looked at, for whoever asks how a finding came about. */
export const healthSpan = ({ workedOutAt, from, to }: DwellingHealth) => ({
  workedOutAt: toInstant(workedOutAt),
  from: toInstant(from),
  to: toInstant(to),
});
