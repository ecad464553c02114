import { VAPOUR_GAS_CONSTANT, ZERO_CELSIUS_K } from './constants.ts';
import { VAPOUR_PERMEABILITY_OF_AIR } from './diffusion.ts';
import { inRange } from './range.ts';
import { saturationPressure, saturationPressureOverWater } from './saturation.ts';

/**
 * A surface inside a build-up, seen from its two sides: the old ceiling behind a new lining. Heat and vapour reach it from
 * the room through the lining and from outdoors through what was there before; room air may also leak to it.
 */
export interface HiddenLayer {
  /** between room air and the surface, and between it and outdoor air, m2K/W */
  readonly resistanceToRoom: number;
  readonly resistanceToOutdoor: number;
  /** vapour resistance on either side, m of still air; `sdToRoom` 0 is a surface that faces the room */
  readonly sdToRoom: number;
  readonly sdToOutdoor: number;
  /** room air that passes behind the lining, m3/(h m2) at room temperature */
  readonly airLeak: number;
}

/** Hours of air on both sides; NaN is not known. Columns of one length. */
export interface AirHours {
  /** °C */
  readonly roomTemperature: Float64Array;
  readonly outdoorTemperature: Float64Array;
  /** Pa */
  readonly roomVapourPressure: Float64Array;
  readonly outdoorVapourPressure: Float64Array;
}

/** The surface hour by hour; NaN where either side is not known. */
export interface HiddenLayerHours {
  /** °C */
  readonly temperature: Float64Array;
  /** relative to liquid water as a sensor there would report it, %, at most 100 */
  readonly humidity: Float64Array;
  /** Pa */
  readonly vapourPressure: Float64Array;
  /** water held on the surface at the end of the hour, kg/m2; stays as it was through hours not known */
  readonly water: Float64Array;
  /** hours in which water stood on the surface or settled on it; for a surface that faces the room, settled */
  readonly wetHours: number;
  readonly knownHours: number;
}

/** Printed with every result of {@link hiddenLayerHours}. */
export const hiddenLayerLimits = Object.freeze([
  {
    code: 'vapour-steady-each-hour',
    message:
      'Vapour is worked out in every hour as if that hour lasted. Heat held by the layers is counted in the hours of a log, not at the design state or in months.',
  },
  {
    code: 'no-storage',
    message:
      'No moisture is held by boards and timber, only water that has settled; real boards make the swings of humidity smaller.',
  },
  {
    code: 'leak-well-mixed',
    message:
      'Leaking room air is taken to reach the whole hidden surface evenly and without warming it. A real leak wets the spot where it arrives.',
  },
  {
    code: 'one-dimension',
    message: 'The clear part between bridges is followed; eaves, edges and fixings are colder.',
  },
] as const);

const HOUR_S = 3600;

/**
 * Vapour that air passing to and fro carries per pascal of difference, kg/(m2 s Pa). A flow of dry air carries its
 * humidity ratio, 0.622 p/P, in and out; with the gas law that is q / (Rv T), T being the room's.
 *
 * @param airLeak m3/(h m2) at room temperature
 * @param roomTemperature °C
 * @source gas law of water vapour; ISO 13788:2012, 3.1 for Rv
 */
export function leakConductance(airLeak: number, roomTemperature: number): number {
  return airLeak / HOUR_S / (VAPOUR_GAS_CONSTANT * (roomTemperature + ZERO_CELSIUS_K));
}

/** Throws where a hidden layer cannot be. */
function checkLayer(layer: HiddenLayer): void {
  inRange('resistanceToRoom', layer.resistanceToRoom, 'm2K/W', 1e-6, 200);
  inRange('resistanceToOutdoor', layer.resistanceToOutdoor, 'm2K/W', 1e-6, 200);
  inRange('sdToRoom', layer.sdToRoom, 'm', 0, 1e8);
  inRange('sdToOutdoor', layer.sdToOutdoor, 'm', 1e-6, 1e8);
  inRange('airLeak', layer.airLeak, 'm3/(h m2)', 0, 1000);
}

/**
 * Temperature and vapour pressure at the surface in steady state, before any water settles.
 *
 * The balance at the surface: (δ0/sd1 + leak)(p_room - p) = (δ0/sd2)(p - p_outdoor). With `sdToRoom` 0 the surface has the
 * room's vapour pressure.
 *
 * @throws RangeError for a layer that cannot be
 */
export function hiddenLayerState(
  layer: HiddenLayer,
  air: {
    roomTemperature: number;
    outdoorTemperature: number;
    roomVapourPressure: number;
    outdoorVapourPressure: number;
  },
): { temperature: number; vapourPressure: number } {
  checkLayer(layer);
  const share = layer.resistanceToRoom / (layer.resistanceToRoom + layer.resistanceToOutdoor);
  const temperature = air.roomTemperature + share * (air.outdoorTemperature - air.roomTemperature);
  if (layer.sdToRoom === 0) return { temperature, vapourPressure: air.roomVapourPressure };
  const inward = VAPOUR_PERMEABILITY_OF_AIR / layer.sdToRoom + leakConductance(layer.airLeak, air.roomTemperature);
  const outward = VAPOUR_PERMEABILITY_OF_AIR / layer.sdToOutdoor;
  const vapourPressure = (inward * air.roomVapourPressure + outward * air.outdoorVapourPressure) / (inward + outward);
  return { temperature, vapourPressure };
}

/**
 * Temperature, humidity and water at a hidden surface hour by hour. Vapour is in balance in each hour. Where the balance
 * would pass saturation (over ice below 0 °C) the surplus settles as water; while water is there the surface stands at
 * saturation, and the water dries as fast as diffusion and the leak carry it off.
 *
 * @param given temperature at the surface, °C, where heat held by the layers is to count (see `boundaryTemperatureHours`); left
 *   out, each hour is in steady state
 * @throws RangeError for a layer that cannot be, columns of different length, or temperatures outside -60 to 100 °C
 * @source balance of ISO 13788:2012, 6.4, taken hour by hour, with an air leak added; the leak term is ours
 */
export function hiddenLayerHours(layer: HiddenLayer, air: AirHours, given?: Float64Array): HiddenLayerHours {
  checkLayer(layer);
  const hours = air.roomTemperature.length;
  for (const [name, column] of Object.entries(air) as [string, Float64Array][]) {
    inRange(`${name}.length`, column.length, 'hours', hours, hours);
  }
  if (given !== undefined) inRange('given.length', given.length, 'hours', hours, hours);
  const temperature = new Float64Array(hours).fill(Number.NaN);
  const humidity = new Float64Array(hours).fill(Number.NaN);
  const vapourPressure = new Float64Array(hours).fill(Number.NaN);
  const water = new Float64Array(hours);
  const share = layer.resistanceToRoom / (layer.resistanceToRoom + layer.resistanceToOutdoor);
  const facesRoom = layer.sdToRoom === 0;
  const diffusionInward = facesRoom ? 0 : VAPOUR_PERMEABILITY_OF_AIR / layer.sdToRoom;
  const outward = VAPOUR_PERMEABILITY_OF_AIR / layer.sdToOutdoor;
  let held = 0;
  let wetHours = 0;
  let knownHours = 0;
  for (let hour = 0; hour < hours; hour += 1) {
    const room = air.roomTemperature[hour]!;
    const outdoor = air.outdoorTemperature[hour]!;
    const roomPressure = air.roomVapourPressure[hour]!;
    const outdoorPressure = air.outdoorVapourPressure[hour]!;
    if (!Number.isFinite(room + outdoor + roomPressure + outdoorPressure)) {
      water[hour] = held;
      continue;
    }
    knownHours += 1;
    const here = given === undefined ? room + share * (outdoor - room) : given[hour]!;
    const saturation = saturationPressure(here);
    let pressure: number;
    if (facesRoom) {
      pressure = Math.min(roomPressure, saturation);
      if (roomPressure > saturation) wetHours += 1;
    } else {
      const inward = diffusionInward + leakConductance(layer.airLeak, room);
      const surplus = inward * (roomPressure - saturation) - outward * (saturation - outdoorPressure);
      const after = held + surplus * HOUR_S;
      if (surplus > 0 || held > 0) wetHours += 1;
      pressure = after > 0 ? saturation : (inward * roomPressure + outward * outdoorPressure) / (inward + outward);
      held = Math.max(0, after);
      // Dried within the hour: the balance holds for what is left of it, and cannot be above saturation.
      pressure = Math.min(pressure, saturation);
    }
    temperature[hour] = here;
    vapourPressure[hour] = pressure;
    const overWater = here >= 0 ? saturation : saturationPressureOverWater(here);
    humidity[hour] = Math.min(100, (100 * pressure) / overWater);
    water[hour] = held;
  }
  return { temperature, humidity, vapourPressure, water, wetHours, knownHours };
}
