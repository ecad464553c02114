import { applying, inUse } from '../analysis/calibration.ts';
import { type Envelope, envelope, type Samples } from '../analysis/envelope.ts';
import type { HourColumnName } from '../analysis/place-hours.ts';
import { sensorErrors } from '../analysis/sensor-errors.ts';
import { readingsOfKnownHours, type Track, trackOf } from '../analysis/track.ts';
import { type TrackFigure, trackFigureNames, trackSource } from '../analysis/track-figures.ts';
import { type PlaceState, trackNeeds, trackPlusMinus } from '../analysis/track-uncertainty.ts';
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
  const errors = errorReader(rows);
  const states = stateReader(store, dwelling, errors, asked);
  const figures: TrackFigureWire[] = [];
  for (const figure of asked.figures) {
    const track = await oneTrack(store, dwelling, place, places.outdoors, rows, figure, asked);
    figures.push(track === null ? nothing(figure, asked) : await wireOf(figure, track, places, states, errors));
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
function stateReader(store: Store, dwelling: Dwelling, errors: ErrorReader, { from, to }: TrackAsked): StateReader {
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
    const [ofTemperature, ofHumidity] = [errors(place, 'temperature'), errors(place, 'humidity')];
    const at = (value: number, parts: readonly ErrorPart[]) => (Number.isNaN(value) ? null : measured(value, ...parts));
    return (entry) => ({
      temperature: at(temperature.mean[entry]!, ofTemperature(edges[entry]!)),
      humidity: at(humidity.mean[entry]!, ofHumidity(edges[entry]!)),
    });
  };
}

interface ErrorSpan {
  readonly from: number;
  readonly to: number;
  readonly errors: readonly ErrorPart[];
}

type ErrorReader = (place: Place, quantity: Quantity) => (time: number) => readonly ErrorPart[];

/** Errors of the sensor that stood at a place at a time; of several, of the first. They change with sensor and calibration alone. */
function errorReader(rows: Rows): ErrorReader {
  const known = new Map<string, readonly ErrorSpan[]>();
  return (place, quantity) => {
    const key = `${place.id} ${quantity}`;
    const spans = known.get(key) ?? errorSpans(place, quantity, rows);
    known.set(key, spans);
    return (time) => spans.find(({ from, to }) => from <= time && time < to)?.errors ?? [];
  };
}

function errorSpans(place: Place, quantity: Quantity, rows: Rows): ErrorSpan[] {
  return rows.placements
    .filter(({ placeId }) => placeId === place.id)
    .flatMap((stay) => {
      const series = rows.series.find((one) => one.sensorId === stay.sensorId && one.quantity === quantity);
      const sensor = rows.sensors.find(({ id }) => id === stay.sensorId);
      if (series === undefined || sensor === undefined) return [];
      const end = stay.to ?? Number.POSITIVE_INFINITY;
      const ordered = inUse(rows.calibrations, series.id);
      const starts = [stay.from, ...ordered.map(({ from }) => from).filter((from) => from > stay.from && from < end)];
      return starts.map((from, i) => ({
        from,
        to: starts[i + 1] ?? end,
        errors: sensorErrors(sensor, quantity, applying(ordered, from)),
      }));
    });
}

async function wireOf(
  figure: TrackFigure,
  track: Track,
  places: PlacesBehind,
  states: StateReader,
  errors: ErrorReader,
): Promise<TrackFigureWire> {
  const { times, end, mean } = track;
  const plusMinus = new Float64Array(mean.length).fill(Number.NaN);
  const { quantity } = trackSource(figure);
  const edges = Float64Array.of(...times, end);
  const needed = trackNeeds(figure);
  const state = (name: keyof PlacesBehind) => states(needed.includes(name) ? places[name] : null, edges);
  const own = await state('own');
  const air = await state('air');
  const room = await state('room');
  const outdoors = await state('outdoors');
  const loft = await state('loft');
  const itself = quantity === undefined ? () => [] : errors(places.own, quantity);
  for (let i = 0; i < mean.length; i++) {
    if (Number.isNaN(mean[i]!)) continue;
    const half = trackPlusMinus(figure, mean[i]!, {
      own: own(i),
      air: air(i),
      room: room(i),
      outdoors: outdoors(i),
      loft: loft(i),
      errors: itself(times[i]!),
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
