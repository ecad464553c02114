import type { Quantity } from '../physics/quantities.ts';
import { DRIEST_DEW, dewPoint } from '../physics/saturation.ts';
import { surfaceHumidity, temperatureFactor } from '../physics/surface.ts';
import { vapourPressure } from '../physics/vapour.ts';
import type { HourRecord } from './hour-record.ts';
import { isCondensationHour, isRiskHour } from './risk.ts';
import { HOUR_MS, isSurface, type PlaceKind } from './vocabulary.ts';

/** What decides whether an hour counts and as what. Echoed wherever the numbers go. */
export const hourSettings = Object.freeze({
  /** share of an hour that readings must speak for before it counts */
  coverageWanted: 0.5,
  /** a single hour's temperature factor is given from this difference between room and cold side, K: under it, an
   * offset of 0.3 K in one sensor moves the factor by more than 0.06 */
  factorDifference: 5,
  /** spacing assumed for a series whose own is not yet known, s */
  intervalSeconds: 600,
});

export type HourSettings = typeof hourSettings;

export interface HourPlace {
  readonly id: number;
  readonly kind: PlaceKind;
  /** the room air a surface faces; null: the first room air */
  readonly facesPlaceId: number | null;
}

/** Readings of one quantity of one sensor while it stood at one place, in time order. */
export interface PlacedColumns {
  readonly placeId: number;
  readonly sensorId: number;
  readonly quantity: Quantity;
  /** seconds between readings; null: not known */
  readonly intervalSeconds: number | null;
  /** UTC milliseconds */
  readonly times: Float64Array;
  readonly values: Float64Array;
}

export interface HoursInput {
  /** UTC milliseconds, a whole hour */
  readonly start: number;
  readonly hours: number;
  readonly places: readonly HourPlace[];
  readonly columns: readonly PlacedColumns[];
}

/**
 * Builds the hour records of a dwelling from readings: one per place and hour in which that place has a reading, in
 * order of place and hour. An hour depends on the readings within it and on nothing else, so any span can be rebuilt alone.
 *
 * Vapour pressure, dew point, margin and surface humidity are worked out from paired readings and then averaged. A
 * humidity reading is paired with the reading of the same sensor nearest in time within the hour; a surface reading with
 * the room's vapour pressure nearest in time within the hour.
 *
 * @throws RangeError when `start` is not a whole hour
 */
export function buildHours(input: HoursInput, settings: HourSettings = hourSettings): HourRecord[] {
  const { start, hours, places } = input;
  if (start % HOUR_MS !== 0) throw new RangeError(`start is ${start} ms; it must be a whole UTC hour`);
  const tallies = new Map(places.map((place) => [place.id, tally(place, input, settings)]));
  const firstOf = (kind: PlaceKind): Tally | undefined => {
    const place = places.find((candidate) => candidate.kind === kind);
    return place && tallies.get(place.id);
  };
  const outdoor = firstOf('outdoor-air');
  const loft = firstOf('loft-air');
  const firstRoom = firstOf('room-air');

  const records: HourRecord[] = [];
  for (const place of places) {
    const own = tallies.get(place.id)!;
    const faced = place.facesPlaceId === null ? firstRoom : tallies.get(place.facesPlaceId);
    const wetness = isSurface(place.kind) ? faceRoom(own, faced, input) : own.pairs;
    for (let i = 0; i < hours; i++) {
      if (own.readings[i] === 0) continue;
      records.push(record(place, i, own, wetness, { faced, firstRoom, outdoor, loft }, input, settings));
    }
  }
  return records;
}

/** Sums over the readings of one quantity, an entry per hour. */
interface Sums {
  readonly sum: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
  readonly count: Int32Array;
  /** twelfths of the hour that readings speak for, a bit each */
  readonly spoken: Int32Array;
}

/** Sums over paired samples, an entry per hour. `humidity` is relative to saturation at the place's own temperature. */
interface Wetness {
  readonly pressure: Float64Array;
  readonly dewPoint: Float64Array;
  readonly margin: Float64Array;
  readonly marginMin: Float64Array;
  readonly humidity: Float64Array;
  readonly humidityMax: Float64Array;
  readonly count: Int32Array;
}

interface Samples {
  times: Float64Array;
  pressures: Float64Array;
  dewPoints: Float64Array;
}

interface Tally {
  readonly temperature: Sums;
  readonly humidity: Sums;
  readonly clamped: Int32Array;
  readonly pairs: Wetness;
  /** paired samples of air that a surface may face; empty elsewhere */
  readonly samples: Samples;
  /** temperature readings of all the place's sensors in time order; only kept for a surface */
  readonly surfaceTimes: Float64Array;
  readonly surfaceValues: Float64Array;
  readonly others: { readonly timberMoisture: Sums; readonly co2: Sums; readonly battery: Sums };
  /** readings of any quantity */
  readonly readings: Int32Array;
}

const TWELFTH_MS = HOUR_MS / 12;
/** Vapour pressures outside these have no dew point that the physics gives, or no surface humidity: Pa. */
const WETTEST = 101_325;

function newSums(hours: number): Sums {
  return {
    sum: new Float64Array(hours),
    min: new Float64Array(hours).fill(Number.POSITIVE_INFINITY),
    max: new Float64Array(hours).fill(Number.NEGATIVE_INFINITY),
    count: new Int32Array(hours),
    spoken: new Int32Array(hours),
  };
}

function newWetness(hours: number): Wetness {
  return {
    pressure: new Float64Array(hours),
    dewPoint: new Float64Array(hours),
    margin: new Float64Array(hours),
    marginMin: new Float64Array(hours).fill(Number.POSITIVE_INFINITY),
    humidity: new Float64Array(hours),
    humidityMax: new Float64Array(hours).fill(Number.NEGATIVE_INFINITY),
    count: new Int32Array(hours),
  };
}

/** Twelfths of an hour that one reading speaks for: its interval, rounded up to a divisor of the hour. */
function twelfthsSpoken(intervalSeconds: number): number {
  const twelfths = Math.ceil(intervalSeconds / 300 - 0.1);
  return [1, 2, 3, 4, 6].find((divisor) => twelfths <= divisor) ?? 12;
}

function addTo(sums: Sums, readings: Int32Array, column: PlacedColumns, input: HoursInput, interval: number): void {
  const { times, values } = column;
  const block = twelfthsSpoken(interval);
  const blockMask = (1 << block) - 1;
  for (let k = 0; k < times.length; k++) {
    const offset = times[k]! - input.start;
    const i = Math.floor(offset / HOUR_MS);
    if (i < 0 || i >= input.hours) continue;
    const value = values[k]!;
    sums.sum[i]! += value;
    if (value < sums.min[i]!) sums.min[i] = value;
    if (value > sums.max[i]!) sums.max[i] = value;
    sums.count[i]! += 1;
    const twelfth = Math.floor((offset - i * HOUR_MS) / TWELFTH_MS);
    sums.spoken[i]! |= blockMask << (twelfth - (twelfth % block));
    readings[i]! += 1;
  }
}

function tally(place: HourPlace, input: HoursInput, settings: HourSettings): Tally {
  const { hours } = input;
  const columns = input.columns.filter((column) => column.placeId === place.id);
  const readings = new Int32Array(hours);
  const clamped = new Int32Array(hours);
  const sums: Record<Quantity, Sums> = {
    temperature: newSums(hours),
    humidity: newSums(hours),
    timberMoisture: newSums(hours),
    co2: newSums(hours),
    battery: newSums(hours),
  };
  const clampedColumns = columns.map((column) =>
    column.quantity === 'humidity' ? clampHumidity(column, clamped, input) : column,
  );
  for (const column of clampedColumns) {
    addTo(sums[column.quantity], readings, column, input, column.intervalSeconds ?? settings.intervalSeconds);
  }
  const pairs = newWetness(hours);
  const parts: Samples[] = [];
  for (const sensorId of new Set(clampedColumns.map((column) => column.sensorId))) {
    const own = clampedColumns.filter((column) => column.sensorId === sensorId);
    const temperature = joined(own.filter((column) => column.quantity === 'temperature'));
    const humidity = joined(own.filter((column) => column.quantity === 'humidity'));
    parts.push(pair(temperature, humidity, pairs, input));
  }
  const surface = isSurface(place.kind)
    ? joined(clampedColumns.filter((column) => column.quantity === 'temperature'))
    : EMPTY;
  return {
    temperature: sums.temperature,
    humidity: sums.humidity,
    clamped,
    pairs,
    samples: joinedSamples(parts),
    surfaceTimes: surface.times,
    surfaceValues: surface.values,
    others: { timberMoisture: sums.timberMoisture, co2: sums.co2, battery: sums.battery },
    readings,
  };
}

function clampHumidity(column: PlacedColumns, clamped: Int32Array, input: HoursInput): PlacedColumns {
  if (!column.values.some((value) => value > 100)) return column;
  const values = column.values.map((value, k) => {
    if (value <= 100) return value;
    const i = Math.floor((column.times[k]! - input.start) / HOUR_MS);
    if (i >= 0 && i < input.hours) clamped[i]! += 1;
    return 100;
  });
  return { ...column, values };
}

interface TimedValues {
  readonly times: Float64Array;
  readonly values: Float64Array;
}

const EMPTY: TimedValues = { times: new Float64Array(0), values: new Float64Array(0) };

/** Columns as one in time order; of equal times the earlier column comes first. */
function joined(columns: readonly TimedValues[]): TimedValues {
  if (columns.length === 0) return EMPTY;
  if (columns.length === 1) return columns[0]!;
  const order = columns
    .flatMap((column) => Array.from(column.times, (time, k) => ({ time, value: column.values[k]! })))
    .sort((a, b) => a.time - b.time);
  return {
    times: Float64Array.from(order, (entry) => entry.time),
    values: Float64Array.from(order, (entry) => entry.value),
  };
}

function joinedSamples(parts: readonly Samples[]): Samples {
  const filled = parts.filter((part) => part.times.length > 0);
  if (filled.length === 1) return filled[0]!;
  const order = filled
    .flatMap((part) =>
      Array.from(part.times, (time, k) => ({ time, pressure: part.pressures[k]!, dewPoint: part.dewPoints[k]! })),
    )
    .sort((a, b) => a.time - b.time);
  return {
    times: Float64Array.from(order, (entry) => entry.time),
    pressures: Float64Array.from(order, (entry) => entry.pressure),
    dewPoints: Float64Array.from(order, (entry) => entry.dewPoint),
  };
}

/**
 * Finds the index of the time nearest to `time` among those in the hour that begins at `hourStart`, the later of two
 * equally near; -1 where the hour has none. `times` ascends, and so must the calls.
 */
function nearestInHour(times: Float64Array): (time: number, hourStart: number) => number {
  let k = 0;
  return (time, hourStart) => {
    while (k < times.length && times[k]! < hourStart) k++;
    const hourEnd = hourStart + HOUR_MS;
    if (k === times.length || times[k]! >= hourEnd) return -1;
    while (k + 1 < times.length && times[k + 1]! < hourEnd) {
      if (Math.abs(times[k + 1]! - time) > Math.abs(times[k]! - time)) break;
      k++;
    }
    return k;
  };
}

function pair(temperature: TimedValues, humidity: TimedValues, into: Wetness, input: HoursInput): Samples {
  const length = humidity.times.length;
  const samples = {
    times: new Float64Array(length),
    pressures: new Float64Array(length),
    dewPoints: new Float64Array(length),
  };
  let filled = 0;
  if (temperature.times.length > 0) {
    const nearest = nearestInHour(temperature.times);
    for (let k = 0; k < length; k++) {
      const time = humidity.times[k]!;
      const i = Math.floor((time - input.start) / HOUR_MS);
      if (i < 0 || i >= input.hours) continue;
      const partner = nearest(time, input.start + i * HOUR_MS);
      if (partner < 0) continue;
      const ownTemperature = temperature.values[partner]!;
      const pressure = vapourPressure(ownTemperature, humidity.values[k]!);
      if (!(pressure >= DRIEST_DEW && pressure <= WETTEST)) continue;
      const dew = dewPoint(pressure);
      addWetness(into, i, pressure, dew, ownTemperature);
      samples.times[filled] = time;
      samples.pressures[filled] = pressure;
      samples.dewPoints[filled] = dew;
      filled++;
    }
  }
  return {
    times: samples.times.subarray(0, filled),
    pressures: samples.pressures.subarray(0, filled),
    dewPoints: samples.dewPoints.subarray(0, filled),
  };
}

function addWetness(into: Wetness, i: number, pressure: number, dew: number, temperature: number): void {
  const margin = temperature - dew;
  const humidity = surfaceHumidity(pressure, temperature);
  into.pressure[i]! += pressure;
  into.dewPoint[i]! += dew;
  into.margin[i]! += margin;
  if (margin < into.marginMin[i]!) into.marginMin[i] = margin;
  into.humidity[i]! += humidity;
  if (humidity > into.humidityMax[i]!) into.humidityMax[i] = humidity;
  into.count[i]! += 1;
}

/** What the air of the faced room does at a surface. */
function faceRoom(surface: Tally, room: Tally | undefined, input: HoursInput): Wetness {
  const wetness = newWetness(input.hours);
  if (!room || room.samples.times.length === 0) return wetness;
  const { times, pressures, dewPoints } = room.samples;
  const nearest = nearestInHour(times);
  for (let k = 0; k < surface.surfaceTimes.length; k++) {
    const time = surface.surfaceTimes[k]!;
    const i = Math.floor((time - input.start) / HOUR_MS);
    if (i < 0 || i >= input.hours) continue;
    const sample = nearest(time, input.start + i * HOUR_MS);
    if (sample < 0) continue;
    addWetness(wetness, i, pressures[sample]!, dewPoints[sample]!, surface.surfaceValues[k]!);
  }
  return wetness;
}

const covered = (sums: Sums, i: number): number => {
  let bits = sums.spoken[i]!;
  let twelfths = 0;
  for (; bits; bits &= bits - 1) twelfths++;
  return twelfths / 12;
};

const meanOf = (sums: Sums, i: number): number | null => (sums.count[i] === 0 ? null : sums.sum[i]! / sums.count[i]!);

interface Neighbours {
  readonly faced: Tally | undefined;
  readonly firstRoom: Tally | undefined;
  readonly outdoor: Tally | undefined;
  readonly loft: Tally | undefined;
}

function record(
  place: HourPlace,
  i: number,
  own: Tally,
  wetness: Wetness,
  neighbours: Neighbours,
  input: HoursInput,
  settings: HourSettings,
): HourRecord {
  const temperatureMean = meanOf(own.temperature, i);
  const temperatureCoverage = covered(own.temperature, i);
  const humidityCoverage = covered(own.humidity, i);
  const surface = isSurface(place.kind);
  const air = surface ? neighbours.faced : own;
  const counts =
    wetness.count[i]! > 0 &&
    temperatureCoverage >= settings.coverageWanted &&
    air !== undefined &&
    covered(air.humidity, i) >= settings.coverageWanted &&
    covered(air.temperature, i) >= settings.coverageWanted;
  const mean = (column: Float64Array): number | null => (counts ? column[i]! / wetness.count[i]! : null);
  const wettable =
    surface || place.kind === 'behind-lining' || place.kind === 'loft-air' || place.kind === 'loft-timber';
  const marginMean = wettable ? mean(wetness.margin) : null;
  const surfaceHumidityMean = wettable ? mean(wetness.humidity) : null;
  const factored = surface || place.kind === 'behind-lining';
  const room = place.kind === 'behind-lining' ? neighbours.firstRoom : neighbours.faced;
  return {
    placeId: place.id,
    hour: input.start + i * HOUR_MS,
    temperatureMean,
    temperatureMin: own.temperature.count[i] ? own.temperature.min[i]! : null,
    temperatureMax: own.temperature.count[i] ? own.temperature.max[i]! : null,
    temperatureCount: own.temperature.count[i]!,
    temperatureCoverage,
    humidityMean: meanOf(own.humidity, i),
    humidityMin: own.humidity.count[i] ? own.humidity.min[i]! : null,
    humidityMax: own.humidity.count[i] ? own.humidity.max[i]! : null,
    humidityCount: own.humidity.count[i]!,
    humidityCoverage,
    humidityClamped: own.clamped[i]!,
    vapourPressure: mean(wetness.pressure),
    dewPoint: mean(wetness.dewPoint),
    marginMean,
    marginMin: counts && wettable ? wetness.marginMin[i]! : null,
    surfaceHumidityMean,
    surfaceHumidityMax: counts && wettable ? wetness.humidityMax[i]! : null,
    factorOutdoor: factored ? hourFactor(own, room, neighbours.outdoor, i, settings) : null,
    factorLoft: factored ? hourFactor(own, room, neighbours.loft, i, settings) : null,
    riskHour: isRiskHour(surfaceHumidityMean ?? Number.NaN, temperatureMean ?? Number.NaN),
    condensationHour: isCondensationHour(marginMean ?? Number.NaN),
    timberMoisture: meanOf(own.others.timberMoisture, i),
    co2: meanOf(own.others.co2, i),
    battery: meanOf(own.others.battery, i),
  };
}

function hourFactor(
  surface: Tally,
  room: Tally | undefined,
  cold: Tally | undefined,
  i: number,
  settings: HourSettings,
): number | null {
  const temperatures = [surface, room, cold].map((tallied) =>
    tallied && covered(tallied.temperature, i) >= settings.coverageWanted ? meanOf(tallied.temperature, i) : null,
  );
  const [own, inside, outside] = temperatures;
  if (own == null || inside == null || outside == null) return null;
  return inside - outside >= settings.factorDifference ? temperatureFactor(own, inside, outside) : null;
}
