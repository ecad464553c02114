import { applying, inUse } from '../analysis/calibration.ts';
import { type Envelope, envelope, type Samples } from '../analysis/envelope.ts';
import type { HourColumnName } from '../analysis/place-hours.ts';
import { sensorErrors } from '../analysis/sensor-errors.ts';
import { readingsOfKnownHours, type Track, trackOf } from '../analysis/track.ts';
import { type TrackFigure, trackFigureNames, trackSource } from '../analysis/track-figures.ts';
import { type PlaceState, trackPlusMinus } from '../analysis/track-uncertainty.ts';
import { HOUR_MS, isSurface, type PlaceKind } from '../analysis/vocabulary.ts';
import type { Quantity } from '../physics/quantities.ts';
import { type ErrorPart, measured } from '../physics/uncertainty.ts';
import { countedColumns } from '../store/hour-keeper.ts';
import type { CalibrationRecord, Dwelling, Place, Placement, Sensor, Series, Store } from '../store/port.ts';
import type { TrackFigureWire, TrackWire } from './contract/track.ts';
import { RequestProblem } from './problem.ts';
import { columnView, toInstant } from './views.ts';

export interface TrackAsked {
  readonly figures: readonly TrackFigure[];
  /** whole UTC hours */
  readonly from: number;
  readonly to: number;
  readonly points: number;
}

/** Spacing taken for a series whose own is not yet known, ms. */
const UNKNOWN_INTERVAL_MS = HOUR_MS;
const HUMIDITY_FULL = 100;

/** Names of figures out of a request. */
export function figuresWanted(list: string): TrackFigure[] {
  return list.split(',').map((name) => {
    const known = trackFigureNames.find((candidate) => candidate === name.trim());
    if (known === undefined) {
      throw new RequestProblem('bad-request', `There is no figure ${name}; there are ${trackFigureNames.join(', ')}.`);
    }
    return known;
  });
}

/** Figures of a place over time, each with what its sensors may be off by. */
export async function readTrack(store: Store, dwelling: Dwelling, place: Place, asked: TrackAsked): Promise<TrackWire> {
  const [span, rows] = await Promise.all([store.hourSpan(dwelling.id), readRows(store, dwelling)]);
  const known = span === null ? null : { from: toInstant(span.first), to: toInstant(span.last + HOUR_MS) };
  if (!(asked.to > asked.from)) return { placeId: place.id, known, figures: [] };
  const places = placesBehind(place, rows.places);
  const states = stateReader(store, dwelling, rows, asked);
  const figures: TrackFigureWire[] = [];
  for (const figure of asked.figures) {
    const track = await oneTrack(store, dwelling, place, places.outdoors, rows, figure, asked);
    figures.push(track === null ? nothing(figure, asked) : await wireOf(figure, track, places, states, rows));
  }
  return { placeId: place.id, known, figures };
}

interface Rows {
  readonly places: readonly Place[];
  readonly placements: readonly Placement[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly calibrations: readonly CalibrationRecord[];
}

async function readRows(store: Store, { id }: Dwelling): Promise<Rows> {
  const [places, placements, sensors, series, calibrations] = await Promise.all([
    store.places(id),
    store.placements(id),
    store.sensors(id),
    store.series(id),
    store.calibrations(id),
  ]);
  return { places, placements, sensors, series, calibrations };
}

interface PlacesBehind {
  readonly own: Place;
  readonly air: Place | null;
  readonly room: Place | null;
  readonly outdoors: Place | null;
  readonly loft: Place | null;
}

/** The places a figure of this one rests on, as the hours take them. */
function placesBehind(own: Place, places: readonly Place[]): PlacesBehind {
  const first = (kind: PlaceKind): Place | null => places.find((place) => place.kind === kind) ?? null;
  const room = places.find(({ id }) => id === own.facesPlaceId) ?? first('room-air');
  return {
    own,
    air: isSurface(own.kind) ? room : own,
    room,
    outdoors: first('outdoor-air'),
    loft: first('loft-air'),
  };
}

async function oneTrack(
  store: Store,
  dwelling: Dwelling,
  place: Place,
  outdoors: Place | null,
  rows: Rows,
  figure: TrackFigure,
  { from, to, points }: TrackAsked,
): Promise<Track | null> {
  const { mean, low = mean, high = mean, quantity, over } = trackSource(figure);
  const names: HourColumnName[] = [...new Set([mean, low, high])];
  const columns = await store.hourColumns(dwelling.id, place.id, from, to, names);
  let hours: Samples = {
    times: Float64Array.from({ length: columns[mean].length }, (_, i) => from + i * HOUR_MS),
    low: columns[low],
    mean: columns[mean],
    high: columns[high],
  };
  if (over === 'outdoors') {
    if (outdoors === null || outdoors.id === place.id) return null;
    const outside = (await store.hourColumns(dwelling.id, outdoors.id, from, to, [mean]))[mean];
    const excess = hours.mean.map((value, i) => value - outside[i]!);
    hours = { ...hours, low: excess, mean: excess, high: excess };
  }
  if (hours.mean.every(Number.isNaN)) return null;
  const extremes = low !== mean && high !== mean;
  const own = quantity === undefined ? [] : seriesAt(place, quantity, from, to, rows);
  const intervalMs = Math.min(
    ...own.map(({ intervalSeconds }) => (intervalSeconds ?? 0) * 1000 || UNKNOWN_INTERVAL_MS),
  );
  const few = ((to - from) / intervalMs) * own.length <= points;
  const readings =
    own.length > 0 && (few || !extremes)
      ? readingsOfKnownHours(await readingsAt(store, dwelling, place, own, rows, from, to), hours)
      : null;
  return trackOf({ from, to, most: points, zone: dwelling.zone, hours, readings, intervalMs, extremes });
}

/** Series of a quantity whose sensor stood at the place during a span. */
function seriesAt(place: Place, quantity: Quantity, from: number, to: number, { series, placements }: Rows): Series[] {
  const stood = new Set(
    placements
      .filter((stay) => stay.placeId === place.id && stay.from < to && (stay.to === null || stay.to > from))
      .map(({ sensorId }) => sensorId),
  );
  return series.filter((one) => one.quantity === quantity && stood.has(one.sensorId));
}

async function readingsAt(
  store: Store,
  dwelling: Dwelling,
  place: Place,
  series: readonly Series[],
  { calibrations, placements }: Rows,
  from: number,
  to: number,
): Promise<Pick<Samples, 'times' | 'mean'>> {
  const pieces: { time: number; value: number }[][] = [];
  for (const { id, quantity } of series) {
    const columns = await store.oneSeriesColumns(dwelling.id, id, from, to);
    if (columns === null) continue;
    for (const { placeId, times, values } of countedColumns(columns, calibrations, placements)) {
      if (placeId !== place.id) continue;
      const most = quantity === 'humidity' ? HUMIDITY_FULL : Number.POSITIVE_INFINITY;
      pieces.push(Array.from(times, (time, k) => ({ time, value: Math.min(most, values[k]!) })));
    }
  }
  const ordered = pieces.length === 1 ? pieces[0]! : pieces.flat().sort((a, b) => a.time - b.time);
  return {
    times: Float64Array.from(ordered, ({ time }) => time),
    mean: Float64Array.from(ordered, ({ value }) => value),
  };
}

type StateReader = (place: Place | null, edges: Float64Array) => Promise<(entry: number) => PlaceState>;

const unknownState: PlaceState = { temperature: null, humidity: null };

/** Reads the mean state of a place in each entry, with the errors its sensors may have. */
function stateReader(store: Store, dwelling: Dwelling, rows: Rows, { from, to }: TrackAsked): StateReader {
  const names = ['temperature', 'humidity'] as const;
  const read = new Map<number, Promise<Record<(typeof names)[number], Float64Array>>>();
  return async (place, edges) => {
    if (place === null) return () => unknownState;
    const columns = await (read.get(place.id) ?? store.hourColumns(dwelling.id, place.id, from, to, names));
    read.set(place.id, Promise.resolve(columns));
    const times = Float64Array.from({ length: columns.temperature.length }, (_, i) => from + i * HOUR_MS);
    const gathered = (column: Float64Array): Envelope =>
      envelope({ times, low: column, mean: column, high: column }, edges);
    const [temperature, humidity] = [gathered(columns.temperature), gathered(columns.humidity)];
    const at = (quantity: 'temperature' | 'humidity', value: number, time: number) =>
      Number.isNaN(value) ? null : measured(value, ...errorsAt(place, quantity, time, rows));
    return (entry) => ({
      temperature: at('temperature', temperature.mean[entry]!, edges[entry]!),
      humidity: at('humidity', humidity.mean[entry]!, edges[entry]!),
    });
  };
}

/** Errors of the sensor that stood at a place at a time; of several, of the first. */
function errorsAt(place: Place, quantity: Quantity, time: number, rows: Rows): readonly ErrorPart[] {
  for (const stay of rows.placements) {
    if (stay.placeId !== place.id || stay.from > time || (stay.to !== null && stay.to <= time)) continue;
    const series = rows.series.find((one) => one.sensorId === stay.sensorId && one.quantity === quantity);
    const sensor = rows.sensors.find(({ id }) => id === stay.sensorId);
    if (series === undefined || sensor === undefined) continue;
    return sensorErrors(sensor, quantity, applying(inUse(rows.calibrations, series.id), time));
  }
  return [];
}

async function wireOf(
  figure: TrackFigure,
  track: Track,
  places: PlacesBehind,
  states: StateReader,
  rows: Rows,
): Promise<TrackFigureWire> {
  const { times, end, mean } = track;
  const plusMinus = new Float64Array(mean.length).fill(Number.NaN);
  const { quantity } = trackSource(figure);
  const edges = Float64Array.of(...times, end);
  const [own, air, room, outdoors, loft] =
    quantity === undefined
      ? await Promise.all(
          [places.own, places.air, places.room, places.outdoors, places.loft].map((place) => states(place, edges)),
        )
      : [];
  for (let i = 0; i < mean.length; i++) {
    if (Number.isNaN(mean[i]!)) continue;
    const half = trackPlusMinus(figure, mean[i]!, {
      own: own?.(i) ?? unknownState,
      air: air?.(i) ?? unknownState,
      room: room?.(i) ?? unknownState,
      outdoors: outdoors?.(i) ?? unknownState,
      loft: loft?.(i) ?? unknownState,
      errors: quantity === undefined ? [] : errorsAt(places.own, quantity, times[i]!, rows),
    });
    if (half !== null) plusMinus[i] = half;
  }
  const start = times[0]!;
  return {
    figure,
    unit: trackSource(figure).unit,
    kind: track.kind,
    stepHours: track.stepHours,
    start: toInstant(start),
    begins: Array.from(times, (time) => (time - start) / 1000),
    end: (end - start) / 1000,
    min: columnView(track.min),
    mean: columnView(mean),
    max: columnView(track.max),
    count: Array.from(track.count),
    plusMinus: columnView(plusMinus),
  };
}

const nothing = (figure: TrackFigure, { from }: TrackAsked): TrackFigureWire => ({
  figure,
  unit: trackSource(figure).unit,
  kind: 'buckets',
  stepHours: null,
  start: toInstant(from),
  begins: [],
  end: 0,
  min: [],
  mean: [],
  max: [],
  count: [],
  plusMinus: [],
});
