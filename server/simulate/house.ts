import {
  type ConductionBuildUp,
  type ConductionState,
  conduct,
  conductionAtRest,
  conductionMesh,
} from '../physics/conduction.ts';
import { inRange } from '../physics/range.ts';
import { saturationPressureOverWater } from '../physics/saturation.ts';
import { equilibriumMoisture } from '../physics/timber.ts';
import { ceilingOfFactor, linedToFactor } from './ceiling-case.ts';
import { type Living, livingHours } from './living.ts';
import { type GivenWeather, type InventedWeather, type WeatherHours, weatherHours } from './weather.ts';

/** A house under a roof with a sloping ceiling in one bedroom. */
export interface House {
  readonly weather: InventedWeather | GivenWeather;
  readonly living: Living;
  /** of the bedroom, m3 */
  readonly roomVolume: number;
  /** time in which the unheated room loses two thirds of its warmth, h */
  readonly roomHours: number;
  /** true steady temperature factors against the cold side next to them (loft air for the flat ceiling), Rsi 0.25 */
  readonly slopeFactorBefore: number;
  readonly slopeFactorAfter: number;
  readonly edgeFactorAfter: number;
  readonly controlFactor: number;
  /** UTC milliseconds from which on the lining is there; null: never */
  readonly linedFrom: number | null;
  /** share of the room's vapour excess over outdoors that gets into the loft in a breeze of 3.5 m/s */
  readonly loftLeak: number;
  /** share of it that gets behind the lining */
  readonly liningLeak: number;
}

/** What is true of a house at whole hours: entry `i` is the instant start + i hours. °C, Pa, and % of dry mass. */
export interface HouseHours {
  readonly start: number;
  readonly outdoorTemperature: Float64Array;
  readonly outdoorPressure: Float64Array;
  readonly roomTemperature: Float64Array;
  readonly roomPressure: Float64Array;
  readonly slope: Float64Array;
  readonly edge: Float64Array;
  readonly control: Float64Array;
  /** temperature of the old ceiling, and vapour pressure there; before the works those of the slope and the room */
  readonly behind: Float64Array;
  readonly behindPressure: Float64Array;
  readonly loftTemperature: Float64Array;
  readonly loftPressure: Float64Array;
  readonly timberMoisture: Float64Array;
}

const HOUR = 3_600_000;
const INTERNAL_RESISTANCE = 0.25;
/** gas constant of water vapour, J/(g K) */
const VAPOUR_GAS = 0.4615;

/** Slow quantities that pass from one hour to the next. */
interface Slow {
  room: number;
  roomPressure: number;
  loft: number;
  loftPressure: number;
  timber: number;
  behindPressure: number;
}

interface Ceiling {
  readonly mesh: ReturnType<typeof conductionMesh>;
  state: ConductionState | null;
}

/** Moves `value` towards `target` for an hour, with a time constant in hours. */
const towards = (value: number, target: number, timeConstant: number): number =>
  target + (value - target) * Math.exp(-1 / timeConstant);

const cappedHumidity = (pressure: number, temperature: number, most = 1): number =>
  Math.min(pressure, most * saturationPressureOverWater(temperature));

/**
 * A house made of equations, run from an hour on. Each call gives the next `hours` instants; the state is kept in
 * between, so the pieces join without a seam. The first call starts from rest: leave some weeks before what matters.
 *
 * Room: one heat store and one vapour balance with buffering. Slope and control: transient conduction. Edge: slope as
 * lined and as bare, mixed so that its factor is as asked. Loft: outdoor air with a little sun, sky, warmth and vapour.
 * Timber: follows its equilibrium over twenty days. The time constants and shares are plausible, no source.
 */
export function runHouse(house: House, from: number): (hours: number) => HouseHours {
  inRange('edgeFactorAfter', house.edgeFactorAfter, '', house.slopeFactorBefore, house.slopeFactorAfter);
  const bare = ceilingOfFactor(house.slopeFactorBefore, 'light', INTERNAL_RESISTANCE);
  const ceiling = (buildUp: ConductionBuildUp): Ceiling => ({ mesh: conductionMesh(buildUp), state: null });
  const slopeBare = ceiling(bare);
  const slopeLined = ceiling(linedToFactor(bare, house.slopeFactorAfter));
  const control = ceiling(ceilingOfFactor(house.controlFactor, 'light', INTERNAL_RESISTANCE));
  const lined = (house.edgeFactorAfter - house.slopeFactorBefore) / (house.slopeFactorAfter - house.slopeFactorBefore);
  let slow: Slow | null = null;
  let next = from;

  return (hours) => {
    // one instant more on the left joins the conduction to what was there before
    const joined = slow !== null;
    const start = joined ? next - HOUR : next;
    const weather = weatherHours(house.weather, start, joined ? hours + 1 : hours);
    const air = joined ? airHours(house, weather, slow!) : airHours(house, weather, firstState(house, weather));
    const follow = (one: Ceiling, cold: Float64Array): readonly Float64Array[] => {
      const series = { room: air.room, outdoor: cold, interval: 3600 };
      const result = conduct(one.mesh, series, one.state ?? conductionAtRest(one.mesh, air.room[0]!, cold[0]!));
      one.state = result.state;
      return result.boundaries;
    };
    const roof = weather.temperature.map(
      (temperature, hour) => temperature + 0.01 * weather.solar[hour]! - 0.5 * (1 - weather.cloud[hour]!),
    );
    const bareSurface = follow(slopeBare, roof)[0]!;
    const [linedSurface, , oldSurface] = follow(slopeLined, roof) as [Float64Array, Float64Array, Float64Array];
    const controlSurface = follow(control, air.loft)[0]!;

    const count = weather.temperature.length;
    const behindPressure = new Float64Array(count);
    const isLined = (hour: number): boolean => house.linedFrom !== null && start + hour * HOUR >= house.linedFrom;
    let behind = joined ? slow!.behindPressure : air.roomPressure[0]!;
    for (let hour = 0; hour < count; hour += 1) {
      const outside = weather.vapourPressure[hour]!;
      if (hour > 0) {
        const leaked = outside + house.liningLeak * (air.roomPressure[hour]! - outside);
        behind = isLined(hour)
          ? cappedHumidity(towards(behind, leaked, 60), oldSurface[hour]!)
          : air.roomPressure[hour]!;
      }
      behindPressure[hour] = behind;
    }
    const pick = (bareOne: Float64Array, linedOne: Float64Array): Float64Array =>
      bareOne.map((value, hour) => (isLined(hour) ? linedOne[hour]! : value));
    const edge = bareSurface.map((value, hour) => (1 - lined) * value + lined * linedSurface[hour]!);

    slow = { ...air.last, behindPressure: behind };
    next = start + count * HOUR;
    const out: Omit<HouseHours, 'start'> = {
      outdoorTemperature: weather.temperature,
      outdoorPressure: weather.vapourPressure,
      roomTemperature: air.room,
      roomPressure: air.roomPressure,
      slope: pick(bareSurface, linedSurface),
      edge: pick(bareSurface, edge),
      control: controlSurface,
      behind: pick(bareSurface, oldSurface),
      behindPressure,
      loftTemperature: air.loft,
      loftPressure: air.loftPressure,
      timberMoisture: air.timber,
    };
    if (!joined) return { start, ...out };
    const trimmed = Object.fromEntries(Object.entries(out).map(([name, values]) => [name, values.slice(1)]));
    return { start: start + HOUR, ...(trimmed as unknown as typeof out) };
  };
}

function firstState(house: House, weather: WeatherHours): Slow {
  const outdoor = weather.temperature[0]!;
  const pressure = weather.vapourPressure[0]!;
  const room = Math.max(house.living.heatedTo, outdoor);
  return {
    room,
    roomPressure: cappedHumidity(pressure + 250, room, 0.9),
    loft: outdoor,
    loftPressure: cappedHumidity(pressure, outdoor),
    timber: equilibriumMoisture(12, 75),
    behindPressure: pressure,
  };
}

interface AirHours {
  readonly room: Float64Array;
  readonly roomPressure: Float64Array;
  readonly loft: Float64Array;
  readonly loftPressure: Float64Array;
  readonly timber: Float64Array;
  readonly last: Omit<Slow, 'behindPressure'>;
}

/** Warmth the room gets from the rest of the home and from people, K above outdoors with no heating of its own. */
const FREE_WARMTH = 5;
/** Fastest rise that the heating manages, K/h; hours that wet surfaces and textiles stretch the vapour balance over. */
const HEATING_RISE = 1.4;
const BUFFER = 6;
const LOFT_HOURS = 2.5;
const LOFT_VAPOUR_HOURS = 5;
const TIMBER_HOURS = 20 * 24;

/** Room, loft and timber; the first instant is the state as given. */
function airHours(house: House, weather: WeatherHours, first: Omit<Slow, 'behindPressure'>): AirHours {
  const hours = weather.temperature.length;
  const column = (): Float64Array => new Float64Array(hours);
  const out = { room: column(), roomPressure: column(), loft: column(), loftPressure: column(), timber: column() };
  const livingAt = livingHours(house.living);
  let { room, roomPressure, loft, loftPressure, timber } = first;
  for (let hour = 0; hour < hours; hour += 1) {
    const outdoor = weather.temperature[hour]!;
    const outside = weather.vapourPressure[hour]!;
    if (hour > 0) {
      const living = livingAt(weather.start + (hour - 1) * HOUR, outdoor);
      const airing = living.airChanges > 2 ? 3 : 1;
      const free = towards(room, outdoor + FREE_WARMTH + 0.004 * weather.solar[hour]!, house.roomHours / airing);
      const heated = living.heatedTo === null ? free : Math.min(living.heatedTo, room + HEATING_RISE);
      room = Math.max(free, heated);

      const concentration = living.moisture / (living.airChanges * house.roomVolume);
      const balance = outside + concentration * VAPOUR_GAS * (room + 273.15);
      roomPressure = cappedHumidity(towards(roomPressure, balance, BUFFER / living.airChanges), room, 0.97);

      const breeze = weather.wind[hour]! / 3.5;
      const warmed =
        outdoor +
        0.012 * weather.solar[hour]! -
        0.8 * (1 - weather.cloud[hour]!) +
        (0.03 * (room - outdoor)) / Math.sqrt(breeze);
      loft = towards(loft, warmed, LOFT_HOURS);
      const vented = outside + Math.min(0.4, house.loftLeak / breeze) * (roomPressure - outside);
      loftPressure = cappedHumidity(towards(loftPressure, vented, LOFT_VAPOUR_HOURS), loft);
      const humidity = (100 * loftPressure) / saturationPressureOverWater(loft);
      timber = towards(timber, equilibriumMoisture(Math.max(loft, -20), Math.min(humidity, 98)), TIMBER_HOURS);
    }
    out.room[hour] = room;
    out.roomPressure[hour] = roomPressure;
    out.loft[hour] = loft;
    out.loftPressure[hour] = loftPressure;
    out.timber[hour] = timber;
  }
  return { ...out, last: { room, roomPressure, loft, loftPressure, timber } };
}
