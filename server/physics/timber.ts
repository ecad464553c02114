import { above, inRange, sameLength } from './range.ts';

/**
 * Moisture content over which timber is at risk if it stays there, % of dry mass. Decay is taken not to start at or
 * below it. @source common practice; United States Navy manual MO-312 and university extension texts say the same
 */
export const TIMBER_MOISTURE_LIMIT = 20;

/** The equation's terms turn negative in deep frost; moisture hardly changes with temperature there. */
const COLDEST = -20;

/**
 * Equilibrium moisture content of timber in air of a constant state, % of dry mass. For solid softwood and hardwood
 * alike; boards and heated timber lie lower.
 *
 * @param temperature °C, -20 to 100; the handbook's table begins at -1.1 °C, colder is extrapolated
 * @param humidity %, 0 to 100
 * @throws RangeError outside those ranges
 * @source USDA Wood Handbook (2010), equation 4-5 (Simpson, from Hailwood and Horrobin)
 */
export function equilibriumMoisture(temperature: number, humidity: number): number {
  inRange('temperature', temperature, '°C', COLDEST, 100);
  inRange('humidity', humidity, '%', 0, 100);
  const t = temperature;
  const W = 349 + t * (1.29 + 0.0135 * t);
  const K = 0.805 + t * (0.000736 - 0.00000273 * t);
  const K1 = 6.27 - t * (0.00938 + 0.000303 * t);
  const K2 = 1.91 + t * (0.0407 - 0.000293 * t);
  const Kh = (K * humidity) / 100;
  const bound = K1 * Kh;
  const both = bound * K2 * Kh;
  return (1800 / W) * (Kh / (1 - Kh) + (bound + 2 * both) / (1 + bound + both));
}

/**
 * Moisture diffusivity of softwood across the grain near room temperature, m²/s. An order of magnitude: published
 * values run from about 0.3 to 3 times this with species, moisture and temperature.
 * @source from memory
 */
const TIMBER_DIFFUSIVITY = 1e-10;

/**
 * Time constant with which the mean moisture of timber follows the air, h: 4 d² / (π² D), the slowest mode of a plate
 * that takes in moisture on one face and none at depth d.
 *
 * @param depthMillimetres depth that takes part, mm, above 0 and at most 100
 * @param diffusivity m²/s, above 0 and at most 1e-8
 * @throws RangeError outside those ranges
 * @source Crank, The Mathematics of Diffusion, plane sheet; the diffusivity from memory
 */
export function timberTimeConstant(depthMillimetres: number, diffusivity: number = TIMBER_DIFFUSIVITY): number {
  above('depthMillimetres', depthMillimetres, 'mm', 0, 100);
  above('diffusivity', diffusivity, 'm²/s', 0, 1e-8);
  const depth = depthMillimetres / 1000;
  return (4 * depth * depth) / (Math.PI * Math.PI * diffusivity) / 3600;
}

/** Where timber stands at the end of an hour. */
export interface TimberState {
  /** % of dry mass; null before the first known hour */
  readonly moisture: number | null;
  readonly hours: number;
  /** hours not known, in which the moisture was held */
  readonly unknownHours: number;
}

export interface TimberOptions {
  /** depth that follows the air, mm: how deep the moisture is wanted, not how thick the timber is */
  readonly depthMillimetres: number;
  /** m²/s */
  readonly diffusivity: number;
}

/** About the length of a pin meter's electrodes: 4.7 days. @source no source: our choice */
export const timberDefaults: TimberOptions = Object.freeze({
  depthMillimetres: 10,
  diffusivity: TIMBER_DIFFUSIVITY,
});

export interface TimberRun {
  /** moisture content at the end of each hour, % of dry mass; NaN before the first known hour, held in later gaps */
  readonly moisture: Float64Array;
  /** continue from here */
  readonly state: TimberState;
  readonly options: TimberOptions;
  readonly timeConstantHours: number;
}

/** Timber of which nothing is known yet: it begins in equilibrium with the first known hour. */
export const unknownTimber: TimberState = Object.freeze({ moisture: null, hours: 0, unknownHours: 0 });

/**
 * Moisture content of timber that lags the air: a first-order lag behind the equilibrium of each hour. An estimate from
 * the air only; a measured moisture series is better, and rain or condensation that runs onto the timber is not in it.
 *
 * @param temperature air at the timber, °C, -60 to 100 (under -20 taken as -20), one value an hour; NaN where not known
 * @param humidity %, 0 or more (over 100 taken as 100), the same hours; NaN where not known
 * @param from state at the end of the hour before the first
 * @param chosen options that differ from `timberDefaults`
 * @throws RangeError where a value, the state or an option is out of range, or the columns differ in length
 */
export function timberMoisture(
  temperature: Float64Array,
  humidity: Float64Array,
  from: TimberState = unknownTimber,
  chosen: Partial<TimberOptions> = {},
): TimberRun {
  sameLength('temperature', temperature, 'humidity', humidity);
  const options = Object.freeze({ ...timberDefaults, ...chosen });
  const timeConstantHours = timberTimeConstant(options.depthMillimetres, options.diffusivity);
  // Exact for air that stays as it is through the hour.
  const share = -Math.expm1(-1 / timeConstantHours);
  const path = new Float64Array(temperature.length);
  let moisture = from.moisture === null ? Number.NaN : inRange('from.moisture', from.moisture, '%', 0, 200);
  let unknownHours = 0;
  for (let i = 0; i < path.length; i += 1) {
    const t = temperature[i]!;
    const h = humidity[i]!;
    if (!Number.isNaN(t)) inRange('temperature', t, '°C', -60, 100);
    if (!Number.isNaN(h)) inRange('humidity', h, '%', 0, Number.MAX_VALUE);
    if (Number.isNaN(t) || Number.isNaN(h)) {
      unknownHours += 1;
    } else {
      const equilibrium = equilibriumMoisture(Math.max(t, COLDEST), Math.min(h, 100));
      moisture = Number.isNaN(moisture) ? equilibrium : moisture + share * (equilibrium - moisture);
    }
    path[i] = moisture;
  }
  return {
    moisture: path,
    state: Object.freeze({
      moisture: Number.isNaN(moisture) ? null : moisture,
      hours: from.hours + path.length,
      unknownHours: from.unknownHours + unknownHours,
    }),
    options,
    timeConstantHours,
  };
}
