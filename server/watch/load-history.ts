import { applying, inUse } from '../analysis/calibration.ts';
import { sensorErrors } from '../analysis/sensor-errors.ts';
import { HOUR_MS, isSurface, type PlaceKind } from '../analysis/vocabulary.ts';
import type { NightAhead, SensorDoubt, SensorFinding, WatchedPlace, WatchHistory } from '../analysis/watch/history.ts';
import { cleanSurface, type MouldState, mouldIndex } from '../physics/mould-index.ts';
import type { CalibrationRecord, Dwelling, Phase, Place, Placement, Sensor, Series, Store } from '../store/port.ts';

/** Mould indexes as far as they were worked out, so that an hour does not cost years. Lost at a restart, found again. */
export type MouldMemory = Map<string, { readonly hour: number; readonly state: MouldState }>;

/** What the readings say of sensors, and forecasts say of the night, as known at a moment. */
export interface Judgements {
  findings(dwelling: Dwelling, time: number): Promise<readonly SensorFinding[]>;
  nights(dwelling: Dwelling, time: number): Promise<readonly NightAhead[]>;
}

const mouldKinds: ReadonlySet<PlaceKind> = new Set([
  'ceiling-surface',
  'control-surface',
  'behind-lining',
  'loft-timber',
]);
/** A year at a time, so that a long past does not fill the memory. */
const MOULD_STEP = 366 * 24 * HOUR_MS;
const FEWEST_BEFORE_HOURS = 7 * 24;

/**
 * The hours that the rules look at.
 *
 * @param start UTC milliseconds of the first, a whole hour; to: exclusive end
 */
export async function loadHistory(
  store: Store,
  dwelling: Dwelling,
  start: number,
  to: number,
  memory: MouldMemory,
): Promise<WatchHistory> {
  const { id: dwellingId, zone } = dwelling;
  const [places, placements, sensors, series, calibrations, phases, heard, span] = await Promise.all([
    store.places(dwellingId),
    store.placements(dwellingId),
    store.sensors(dwellingId),
    store.series(dwellingId),
    store.calibrations(dwellingId),
    store.phases(dwellingId),
    store.heardHours(dwellingId, start, to),
    store.hourSpan(dwellingId),
  ]);
  const firstRoom = places.find(({ kind }) => kind === 'room-air');
  const watched = await Promise.all(
    places.map(async (place): Promise<WatchedPlace> => {
      const { start: _, ...hours } = await store.placeHours(dwellingId, place.id, start, to);
      return {
        id: place.id,
        name: place.name,
        kind: place.kind,
        airPlaceId: isSurface(place.kind) ? (place.facesPlaceId ?? firstRoom?.id ?? null) : place.id,
        hours,
        mouldIndex: mouldKinds.has(place.kind)
          ? await mouldPath(store, dwellingId, place, span?.first ?? start, start, to, memory)
          : null,
        doubt: doubtAt(place, to, { placements, sensors, series, calibrations }),
        before: place.kind === 'loft-air' ? await beforeExcess(store, dwellingId, place, places, phases) : null,
      };
    }),
  );
  return {
    start,
    hours: Math.max(0, (to - start) / HOUR_MS),
    zone,
    places: watched,
    phases,
    heard,
    heardBefore: span !== null && span.first < start,
    findings: new Map(),
    nights: new Map(),
  };
}

/** Mould index at the end of each hour of `[start, to)`, counted from a clean surface at the first hour ever. */
async function mouldPath(
  store: Store,
  dwellingId: number,
  { id }: Place,
  first: number,
  start: number,
  to: number,
  memory: MouldMemory,
): Promise<Float64Array> {
  const key = `${dwellingId}/${id}`;
  const known = memory.get(key);
  let from = known !== undefined && known.hour <= start ? known.hour : Math.min(first, start);
  let state = known !== undefined && known.hour <= start ? known.state : cleanSurface;
  const run = async (end: number): Promise<Float64Array> => {
    const { temperature, surfaceHumidity } = await store.hourColumns(dwellingId, id, from, end, [
      'temperature',
      'surfaceHumidity',
    ]);
    const result = mouldIndex(temperature.map(asMeasured), surfaceHumidity, state);
    from = end;
    state = result.state;
    return result.index;
  };
  while (from < start) await run(Math.min(start, from + MOULD_STEP));
  memory.set(key, { hour: from, state });
  return run(to);
}

/** A reading that no surface can have is as good as none. */
const asMeasured = (temperature: number): number => (temperature > -60 && temperature < 100 ? temperature : Number.NaN);

interface SensorRows {
  readonly placements: readonly Placement[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly calibrations: readonly CalibrationRecord[];
}

/** What the sensors that stand at a place by then may be wrong by. */
function doubtAt(place: Place, time: number, rows: SensorRows): SensorDoubt {
  const stays = rows.placements.filter(
    ({ placeId, from, to }) => placeId === place.id && from < time && (to === null || to >= time),
  );
  const errorsOf = (quantity: 'temperature' | 'humidity') => {
    for (const { sensorId } of stays) {
      const sensor = rows.sensors.find(({ id }) => id === sensorId);
      const own = rows.series.find((one) => one.sensorId === sensorId && one.quantity === quantity);
      if (sensor === undefined || own === undefined) continue;
      return sensorErrors(sensor, quantity, applying(inUse(rows.calibrations, own.id), time));
    }
    return [];
  };
  return { temperature: errorsOf('temperature'), humidity: errorsOf('humidity') };
}

/** How much more vapour the loft held than outdoors before the works; null where that was not watched for a week. */
async function beforeExcess(
  store: Store,
  dwellingId: number,
  loft: Place,
  places: readonly Place[],
  phases: readonly Phase[],
): Promise<WatchedPlace['before']> {
  const phase = phases.find(({ kind }) => kind === 'before');
  const outdoor = places.find(({ kind }) => kind === 'outdoor-air');
  if (phase === undefined || phase.to === null || outdoor === undefined) return null;
  const [own, outside] = await Promise.all(
    [loft, outdoor].map(
      async ({ id }) =>
        (await store.hourColumns(dwellingId, id, phase.from, phase.to!, ['vapourPressure'])).vapourPressure,
    ),
  );
  const known = own!.map((value, k) => value - outside![k]!).filter((value) => !Number.isNaN(value));
  if (known.length < FEWEST_BEFORE_HOURS) return null;
  return { excessPa: known.reduce((sum, value) => sum + value, 0) / known.length, until: phase.to };
}
