import type { PlaceHours } from '../analysis/place-hours.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { type ConductionBuildUp, type ConductionLayer, conduct, conductionMesh } from '../physics/conduction.ts';
import { inRange } from '../physics/range.ts';
import { dewPoint, saturationPressureOverWater } from '../physics/saturation.ts';
import { surfaceHumidity } from '../physics/surface.ts';
import { vapourPressure } from '../physics/vapour.ts';
import { randomStream } from './random.ts';

/** What the ceiling is made of besides its insulation: it decides how slowly the surface follows. */
export type CeilingMass = 'light' | 'timber' | 'heavy';

/** @source conductivities, densities and heat capacities: ISO 10456:2007, table 3 (from memory) */
const massLayers: Readonly<Record<CeilingMass, ConductionLayer>> = {
  light: { thickness: 0.0125, conductivity: 0.25, density: 900, heatCapacity: 1000 },
  timber: { thickness: 0.02, conductivity: 0.13, density: 500, heatCapacity: 1600 },
  heavy: { thickness: 0.1, conductivity: 1.8, density: 2400, heatCapacity: 1000 },
};
const quilt = { conductivity: 0.04, density: 25, heatCapacity: 1030 };
const liningFoam = { conductivity: 0.022, density: 32, heatCapacity: 1400 };
const liningBoard: ConductionLayer = { thickness: 0.006, conductivity: 0.14, density: 600, heatCapacity: 1700 };

const EXTERNAL_RESISTANCE = 0.04;

const resistanceOf = (layers: readonly ConductionLayer[]): number =>
  layers.reduce((sum, layer) => sum + layer.thickness / layer.conductivity, 0);

/**
 * A ceiling whose steady temperature factor is exactly `f`: board, timber or concrete with just enough quilt outside it.
 *
 * @param f temperature factor, 1 - U Rsi
 * @param internalResistance Rsi, m2K/W
 * @throws RangeError where the bare ceiling already has a higher f
 */
export function ceilingOfFactor(f: number, mass: CeilingMass, internalResistance: number): ConductionBuildUp {
  inRange('f', f, '', 0, 0.999);
  inRange('internalResistance', internalResistance, 'm2K/W', 0.01, 1);
  const solid = massLayers[mass];
  const fixed = internalResistance + EXTERNAL_RESISTANCE + resistanceOf([solid]);
  const missing = internalResistance / (1 - f) - fixed;
  const lowest = 1 - internalResistance / fixed;
  if (!(missing > 1e-4)) inRange('f', f, `for a ${mass} ceiling`, lowest, 0.999);
  const layers = [solid, { ...quilt, thickness: missing * quilt.conductivity }];
  return { layers, internalResistance, externalResistance: EXTERNAL_RESISTANCE };
}

/** The same ceiling with foam and a thin board on the room side, of temperature factor `f`. */
export function linedToFactor(bare: ConductionBuildUp, f: number): ConductionBuildUp {
  inRange('f', f, '', 0, 0.999);
  const present = bare.internalResistance + bare.externalResistance + resistanceOf(bare.layers);
  const missing = bare.internalResistance / (1 - f) - present - resistanceOf([liningBoard]);
  if (!(missing > 1e-4)) {
    const lowest = 1 - bare.internalResistance / (present + resistanceOf([liningBoard]));
    inRange('f of the lined ceiling', f, '', lowest, 0.999);
  }
  const foam: ConductionLayer = { ...liningFoam, thickness: missing * liningFoam.conductivity };
  return { ...bare, layers: [liningBoard, foam, ...bare.layers] };
}

export interface CeilingCaseInput {
  /** UTC milliseconds, a whole hour: entry `i` of every series is the mean of the hour that begins at start + i hours */
  readonly start: number;
  /** hourly series, all of one length: air temperatures °C, relative humidity over water %. NaN: not known */
  readonly roomTemperature: Float64Array;
  readonly roomHumidity: Float64Array;
  readonly outdoorTemperature: Float64Array;
  readonly outdoorHumidity: Float64Array;
  /** what sun and clear sky add to the outdoor temperature at the roof, K; left out: nothing */
  readonly roofGain?: Float64Array;
  readonly mass: CeilingMass;
  /** true temperature factor of the bare ceiling, and of the lined one; null: nothing is ever done */
  readonly factorBefore: number;
  readonly factorAfter: number | null;
  /** UTC milliseconds from which on the lining is there; whole hour. Read also where `factorAfter` is null */
  readonly worksAt: number;
  /** Rsi, m2K/W; left out: 0.25 (ISO 13788:2012, surfaces judged for mould) */
  readonly internalResistance?: number;
}

/**
 * A modelled ceiling under real or invented weather and living, and everything that is true of it. All series have the
 * length and the hours of the input. NaN where an input was missing in that hour or had been missing for long just before.
 */
export interface CeilingCase {
  readonly start: number;
  readonly worksAt: number;
  /** true temperature factor before and after the works; equal where nothing is done */
  readonly factorBefore: number;
  readonly factorAfter: number;
  readonly roomTemperature: Float64Array;
  readonly roomHumidity: Float64Array;
  readonly outdoorTemperature: Float64Array;
  readonly outdoorHumidity: Float64Array;
  /** room vapour pressure, Pa */
  readonly roomVapourPressure: Float64Array;
  /** surface temperature had the ceiling never been lined, had it always been lined, and as it was, °C */
  readonly surfaceUnlined: Float64Array;
  readonly surfaceLined: Float64Array;
  readonly surface: Float64Array;
  /** the old surface behind the lining, as though it had always been there, °C; equals `surfaceUnlined` without works */
  readonly oldSurface: Float64Array;
}

/** After a gap longer than this the stored heat is not known, and hours count again only after the second span, h. */
const BRIDGED_GAP_HOURS = 6;
const SETTLING_HOURS = 24;

/** Series with gaps bridged by straight lines, its ends by its first and last value. */
function bridged(name: string, values: Float64Array): Float64Array {
  const out = Float64Array.from(values);
  let last = -1;
  for (let index = 0; index < out.length; index += 1) {
    if (Number.isNaN(out[index])) continue;
    const step = last < 0 ? 0 : (out[index]! - out[last]!) / (index - last);
    for (let gap = last + 1; gap < index; gap += 1) {
      out[gap] = last < 0 ? out[index]! : out[last]! + step * (gap - last);
    }
    last = index;
  }
  if (last < 0) throw new RangeError(`${name} holds no value at all; at least one hour must be known`);
  out.fill(out[last]!, last + 1);
  return out;
}

/** 1 for hours whose drivers are known and whose surface can be trusted, else 0. */
function trusted(drivers: readonly Float64Array[]): Uint8Array {
  const hours = drivers[0]!.length;
  const out = new Uint8Array(hours);
  let gap = 0;
  let wait = 0;
  for (let hour = 0; hour < hours; hour += 1) {
    if (drivers.some((driver) => Number.isNaN(driver[hour]))) {
      gap += 1;
      if (gap > BRIDGED_GAP_HOURS) wait = SETTLING_HOURS;
      continue;
    }
    gap = 0;
    if (wait > 0) wait -= 1;
    else out[hour] = 1;
  }
  return out;
}

/**
 * Ground truth for a before-and-after assessment: drives a ceiling of chosen temperature factor and thermal mass with
 * hourly room and outdoor series and returns the true surface temperature with, without and as lined, so that true f,
 * true risk hours and what would have been without the works are known.
 *
 * The heat flow is transient ({@link conduct}); hour means are taken as values at the middle of the hour. The surface
 * resistance is one constant, so the true steady f is exactly the one asked for. Use {@link measureCase} to see the case
 * through sensors, {@link hoursAtRisk} to count.
 *
 * @throws RangeError where series differ in length, hold no value, or an f cannot be had
 */
export function ceilingCase(input: CeilingCaseInput): CeilingCase {
  const { start, worksAt, roomTemperature, roomHumidity, outdoorTemperature, outdoorHumidity, roofGain } = input;
  const hours = roomTemperature.length;
  for (const [name, series] of Object.entries({ roomHumidity, outdoorTemperature, outdoorHumidity, roofGain })) {
    if (series !== undefined) inRange(`${name}.length`, series.length, 'hours', hours, hours);
  }
  for (const [name, time] of Object.entries({ start, worksAt })) {
    if (!(time % HOUR_MS === 0)) throw new RangeError(`${name} is ${time} ms; it must be a whole hour`);
  }
  const internalResistance = input.internalResistance ?? 0.25;
  const bare = ceilingOfFactor(input.factorBefore, input.mass, internalResistance);

  const room = bridged('roomTemperature', roomTemperature);
  const cold = bridged('outdoorTemperature', outdoorTemperature);
  if (roofGain !== undefined) {
    const gain = bridged('roofGain', roofGain);
    for (let hour = 0; hour < hours; hour += 1) cold[hour]! += gain[hour]!;
  }
  const counts = trusted([roomTemperature, outdoorTemperature]);
  const known = (values: Float64Array): Float64Array =>
    values.map((value, hour) => (counts[hour] === 1 ? value : Number.NaN));
  const series = { room, outdoor: cold, interval: 3600 };

  const surfaceUnlined = known(conduct(conductionMesh(bare), series).boundaries[0]!);
  let surfaceLined = surfaceUnlined;
  let oldSurface = surfaceUnlined;
  if (input.factorAfter !== null) {
    const { boundaries } = conduct(conductionMesh(linedToFactor(bare, input.factorAfter)), series);
    surfaceLined = known(boundaries[0]!);
    oldSurface = known(boundaries[2]!);
  }
  const lineFrom = (worksAt - start) / HOUR_MS;
  return {
    start,
    worksAt,
    factorBefore: input.factorBefore,
    factorAfter: input.factorAfter ?? input.factorBefore,
    roomTemperature,
    roomHumidity,
    outdoorTemperature,
    outdoorHumidity,
    roomVapourPressure: roomTemperature.map((temperature, hour) => pressureOf(temperature, roomHumidity[hour]!)),
    surfaceUnlined,
    surfaceLined,
    surface: surfaceUnlined.map((bareSurface, hour) => (hour < lineFrom ? bareSurface : surfaceLined[hour]!)),
    oldSurface,
  };
}

/** Vapour pressure, Pa; NaN where either is not known. */
function pressureOf(temperature: number, humidity: number): number {
  const known = humidity >= 0 && temperature > -60;
  return known ? vapourPressure(temperature, Math.min(100, humidity)) : Number.NaN;
}

export interface HoursAtRisk {
  /** surface humidity at or over the limit with the surface above 0 °C */
  readonly risk: number;
  /** surface at or under the dew point */
  readonly condensation: number;
  /** hours in which both are known */
  readonly known: number;
}

/**
 * Counts the hours of a surface under a room's vapour pressure.
 *
 * @param from first hour, `to` hour after the last, as entries of the series
 * @param limit surface relative humidity, %
 */
export function hoursAtRisk(
  surface: Float64Array,
  roomVapourPressure: Float64Array,
  from: number,
  to: number,
  limit = 80,
): HoursAtRisk {
  let risk = 0;
  let condensation = 0;
  let known = 0;
  for (let hour = Math.max(0, from); hour < Math.min(to, surface.length); hour += 1) {
    const temperature = surface[hour]!;
    const pressure = roomVapourPressure[hour]!;
    if (!(temperature > -60 && pressure > 0)) continue;
    known += 1;
    const humidity = surfaceHumidity(pressure, temperature);
    if (humidity >= limit && temperature > 0) risk += 1;
    if (humidity >= 100) condensation += 1;
  }
  return { risk, condensation, known };
}

/** How wrong sensors of one kind are. All are standard deviations, drawn once for each sensor or hour. */
export interface SensorErrors {
  /** constant offset, K and % */
  readonly temperatureOffset: number;
  readonly humidityOffset: number;
  /** change of the offset from the works on, K and % */
  readonly temperatureDrift: number;
  readonly humidityDrift: number;
  /** noise of an hour's mean, K and % */
  readonly temperatureNoise: number;
  readonly humidityNoise: number;
  /** share of hours without a reading, and mean length of a gap, h */
  readonly missingShare: number;
  readonly gapHours: number;
}

/** Sensors that a side-by-side night has put right, as far as that can. Common practice, no source. */
export const calibratedSensors: SensorErrors = Object.freeze({
  temperatureOffset: 0.1,
  humidityOffset: 1,
  temperatureDrift: 0.05,
  humidityDrift: 0.5,
  temperatureNoise: 0.03,
  humidityNoise: 0.3,
  missingShare: 0.02,
  gapHours: 5,
});

export interface MeasuredCase {
  readonly room: PlaceHours;
  readonly outdoor: PlaceHours;
  readonly surface: PlaceHours;
  /** the offsets that were drawn, before the works and after */
  readonly offsets: Readonly<Record<'room' | 'outdoor' | 'surface', DrawnOffsets>>;
}

interface DrawnOffsets {
  readonly temperatureBefore: number;
  readonly temperatureAfter: number;
  readonly humidityBefore: number;
  readonly humidityAfter: number;
}

/**
 * A case as three sensors would have shown it, as hour records: room air, outdoor air, and the ceiling surface judged by
 * the room sensor's vapour pressure. Each sensor draws its errors from `seed` and its own name.
 */
export function measureCase(truth: CeilingCase, errors: SensorErrors, seed: number): MeasuredCase {
  const worksHour = (truth.worksAt - truth.start) / HOUR_MS;
  const room = measureAir(truth.start, truth.roomTemperature, truth.roomHumidity, errors, worksHour, seed, 'room');
  const outdoor = measureAir(
    truth.start,
    truth.outdoorTemperature,
    truth.outdoorHumidity,
    errors,
    worksHour,
    seed,
    'outdoor',
  );
  const nothing = new Float64Array(truth.surface.length).fill(Number.NaN);
  const stuck = measureAir(truth.start, truth.surface, nothing, errors, worksHour, seed, 'surface');
  return {
    room: room.hours,
    outdoor: outdoor.hours,
    surface: faced(stuck.hours, room.hours.vapourPressure),
    offsets: { room: room.offsets, outdoor: outdoor.offsets, surface: stuck.offsets },
  };
}

/**
 * Temperature and humidity of one place as a sensor's hour records, errors drawn from `seed` and `name`.
 *
 * @param worksHour entry from which on the drift counts
 */
function measureAir(
  start: number,
  temperature: Float64Array,
  humidity: Float64Array,
  errors: SensorErrors,
  worksHour: number,
  seed: number,
  name: string,
): { hours: PlaceHours; offsets: DrawnOffsets } {
  const draw = randomStream(seed, `offset of ${name}`);
  const noise = randomStream(seed, `noise of ${name}`);
  const gaps = randomStream(seed, `gaps of ${name}`);
  const temperatureBefore = errors.temperatureOffset * draw.gaussian();
  const humidityBefore = errors.humidityOffset * draw.gaussian();
  const offsets: DrawnOffsets = {
    temperatureBefore,
    humidityBefore,
    temperatureAfter: temperatureBefore + errors.temperatureDrift * draw.gaussian(),
    humidityAfter: humidityBefore + errors.humidityDrift * draw.gaussian(),
  };
  const count = temperature.length;
  const nan = (): Float64Array => new Float64Array(count).fill(Number.NaN);
  const out = { temperature: nan(), humidity: nan(), vapourPressure: nan(), surfaceHumidity: nan(), margin: nan() };
  // the chance to enter and to leave a gap that give the share and the mean length asked for
  const leave = 1 / Math.max(1, errors.gapHours);
  const enter = (leave * errors.missingShare) / Math.max(1e-9, 1 - errors.missingShare);
  let silent = gaps.uniform() < errors.missingShare;
  for (let hour = 0; hour < count; hour += 1) {
    const temperatureNoise = errors.temperatureNoise * noise.gaussian();
    const humidityNoise = errors.humidityNoise * noise.gaussian();
    silent = silent ? gaps.uniform() >= leave : gaps.uniform() < enter;
    if (silent) continue;
    const after = hour >= worksHour;
    const shown =
      temperature[hour]! + (after ? offsets.temperatureAfter : offsets.temperatureBefore) + temperatureNoise;
    out.temperature[hour] = shown;
    const wet = humidity[hour]! + (after ? offsets.humidityAfter : offsets.humidityBefore) + humidityNoise;
    if (!(shown > -60 && humidity[hour]! >= 0)) continue;
    out.humidity[hour] = Math.min(100, Math.max(0.1, wet));
    const pressure = (out.humidity[hour]! / 100) * saturationPressureOverWater(shown);
    out.vapourPressure[hour] = pressure;
    out.surfaceHumidity[hour] = surfaceHumidity(pressure, shown);
    out.margin[hour] = shown - dewPoint(pressure);
  }
  return {
    hours: { start, ...out, marginLow: out.margin, timberMoisture: nan(), co2: nan() },
    offsets,
  };
}

/** The hour records of a surface judged by a room's vapour pressure. */
function faced(surface: PlaceHours, roomVapourPressure: Float64Array): PlaceHours {
  const both = (of: (pressure: number, temperature: number) => number): Float64Array =>
    surface.temperature.map((temperature, hour) => {
      const pressure = roomVapourPressure[hour]!;
      return temperature > -60 && pressure > 1 ? of(pressure, temperature) : Number.NaN;
    });
  const margin = both((pressure, temperature) => temperature - dewPoint(pressure));
  return {
    ...surface,
    vapourPressure: both((pressure) => pressure),
    surfaceHumidity: both(surfaceHumidity),
    margin,
    marginLow: margin,
  };
}
