import { HOUR_MS, isSurface } from '../analysis/vocabulary.ts';
import type { DwellingContents, Place, Placement, Store } from '../store/port.ts';
import type { PackedSeries } from './tables.ts';

/** What goes into a pack. */
export interface PackScope {
  readonly dwellingId: number;
  /** UTC milliseconds, whole hours; `from` included, `to` excluded */
  readonly from: number;
  readonly to: number;
  /** null: all of them */
  readonly placeIds: readonly number[] | null;
  /** whether names, notes, photos and the contents of messages go along */
  readonly words: 'with-words' | 'without-words';
}

export interface PackContents extends DwellingContents {
  readonly series: readonly PackedSeries[];
}

/** @throws RangeError unless it is a span of whole hours */
export function checkScope({ from, to }: Pick<PackScope, 'from' | 'to'>): void {
  if (from % HOUR_MS !== 0 || to % HOUR_MS !== 0 || !(from < to)) {
    throw new RangeError(
      `the span is ${from} to ${to} ms; it must begin and end at whole hours, and end after it begins`,
    );
  }
}

/** A place comes with the places its figures rest on: the room it faces, outdoors, the loft. */
export function withNeeded(places: readonly Place[], wanted: readonly number[] | null): readonly Place[] {
  if (wanted === null) return places;
  const unknown = wanted.find((id) => !places.some((place) => place.id === id));
  if (unknown !== undefined) throw new RangeError(`there is no place ${unknown}`);
  const first = (kind: Place['kind']): number | undefined => places.find((place) => place.kind === kind)?.id;
  const needed = new Set<number | undefined>(wanted);
  for (const { id, kind, facesPlaceId } of places) {
    if (!wanted.includes(id) || !(isSurface(kind) || kind === 'behind-lining')) continue;
    needed.add(facesPlaceId ?? first('room-air'));
    needed.add(first('room-air'));
    needed.add(first('outdoor-air'));
    needed.add(first('loft-air'));
  }
  return places.filter(({ id }) => needed.has(id));
}

/** Reads what is in scope, readings apart. */
export async function readContents(store: Store, scope: PackScope): Promise<PackContents> {
  checkScope(scope);
  const { dwellingId, placeIds, words } = scope;
  const dwelling = (await store.dwellings()).find(({ id }) => id === dwellingId);
  if (dwelling === undefined) throw new RangeError(`there is no dwelling ${dwellingId}`);
  const [allPlaces, sensors, series, placements, phases, calibrations, diary] = await Promise.all([
    store.places(dwellingId),
    store.sensors(dwellingId),
    store.series(dwellingId),
    store.placements(dwellingId),
    store.phases(dwellingId),
    store.calibrations(dwellingId),
    store.diary(dwellingId),
  ]);
  const places = withNeeded(allPlaces, placeIds);
  const isIn = new Set(places.map(({ id }) => id));
  const standing = placements.filter(({ placeId }) => isIn.has(placeId));
  const ofSensors =
    placeIds === null ? sensors : sensors.filter(({ id }) => standing.some(({ sensorId }) => sensorId === id));
  const sensorIds = new Set(ofSensors.map(({ id }) => id));
  const ofSeries = series
    .filter(({ sensorId }) => sensorIds.has(sensorId))
    .map((one) => ({ ...one, windows: windowsOf(one.sensorId, standing, scope) }));
  const seriesIds = new Set(ofSeries.map(({ id }) => id));
  const contents: PackContents = {
    dwelling,
    places: places.map((place) => ({
      ...place,
      facesPlaceId: place.facesPlaceId !== null && isIn.has(place.facesPlaceId) ? place.facesPlaceId : null,
    })),
    sensors: ofSensors,
    series: ofSeries,
    placements: standing.filter(({ sensorId }) => sensorIds.has(sensorId)),
    phases,
    calibrations: calibrations.filter(({ seriesId }) => seriesIds.has(seriesId)),
    diary: diary.filter(({ time }) => time >= scope.from && time < scope.to),
  };
  return words === 'with-words' ? contents : withoutWords(contents);
}

/** The spans of which all readings of a sensor are in scope: all of it, or while it stood at a place that is. */
function windowsOf(
  sensorId: number,
  standing: readonly Placement[],
  { from, to, placeIds }: PackScope,
): readonly (readonly [number, number])[] {
  if (placeIds === null) return [[from, to]];
  return standing
    .filter((placement) => placement.sensorId === sensorId)
    .map((placement): [number, number] => [Math.max(from, placement.from), Math.min(to, placement.to ?? to)])
    .filter(([start, end]) => start < end)
    .sort((a, b) => a[0] - b[0]);
}

/** The same with a number in the place of every name, and no notes. */
function withoutWords(contents: PackContents): PackContents {
  return {
    ...contents,
    dwelling: { ...contents.dwelling, slug: 'home', name: 'Home' },
    places: contents.places.map((place) => ({ ...place, name: `${place.kind} ${place.id}` })),
    sensors: contents.sensors.map((sensor) => ({ ...sensor, key: `sensor-${sensor.id}`, name: `Sensor ${sensor.id}` })),
    phases: contents.phases.map((phase) => ({ ...phase, name: `${phase.kind} ${phase.id}` })),
    calibrations: contents.calibrations.map((calibration) => ({
      ...calibration,
      sharedSource: sharedNumber(calibration.sharedSource, contents),
      note: '',
    })),
    diary: [],
  };
}

/** References that are shared keep which of them are the same. */
function sharedNumber(source: string | null, { calibrations }: PackContents): string | null {
  if (source === null) return null;
  const known = [...new Set(calibrations.map(({ sharedSource }) => sharedSource))].filter((one) => one !== null);
  return `reference ${known.indexOf(source) + 1}`;
}
