import { growthLimitUnchecked, WARMEST_GROWTH } from './growth-limit.ts';
import { type MouldOptions, mouldOptions } from './mould-options.ts';
import { responseRegression } from './mould-response.ts';
import { type MouldClass, mouldClasses } from './mould-sensitivity.ts';
import { inRange, sameLength } from './range.ts';

/** All that is needed to continue from an hour, and what has been counted up to it. */
export interface MouldState {
  /** 0 to 6 */
  readonly index: number;
  /** hours since mould last could grow; a gap neither adds to it nor ends it */
  readonly dryHours: number;
  /** the highest index so far */
  readonly highest: number;
  readonly hours: number;
  readonly growthHours: number;
  /** hours not known, in which the index was held */
  readonly unknownHours: number;
}

export interface MouldRun {
  /** index at the end of each hour; held through hours that are not known */
  readonly index: Float64Array;
  /** continue from here */
  readonly state: MouldState;
  /** the options used, in full */
  readonly options: MouldOptions;
}

/** A clean, dry surface. */
export const cleanSurface: MouldState = Object.freeze({
  index: 0,
  dryHours: 0,
  highest: 0,
  hours: 0,
  growthHours: 0,
  unknownHours: 0,
});

const HOURS_A_WEEK = 168;
const LARGEST_INDEX = 6;
/** The growth limit without its floor is lowest at 17 °C, 79.9 %. */
const LOWEST_OF_CURVE = 79;
const FAST_DECLINE_HOURS = 6;
const SLOW_DECLINE_AFTER_HOURS = 24;
const declinePerHour = {
  'per-day': { fast: 0.032 / 24, slow: 0.016 / 24 },
  'per-hour': { fast: 0.00133, slow: 0.000667 },
} as const;

/**
 * Mould index of the VTT model, hour by hour, 0 to 6: one explicit step an hour from hourly means.
 *
 * Below 0 °C and above 50 °C nothing grows and the surface counts as dry. Humidity over 100 % counts as 100. A growth
 * hour starts the dry time anew. Where the index has reached the largest that the hour allows it stays. A gap (NaN in
 * either column) holds index and dry time and is counted.
 *
 * @param temperature surface temperature, °C, -60 to 100, one value an hour; NaN where not known
 * @param humidity relative humidity at the surface, %, 0 or more, the same hours; NaN where not known
 * @param from state at the end of the hour before the first
 * @param chosen options that differ from `mouldDefaults`
 * @throws RangeError where a value, the state or an option is out of range, or the columns differ in length
 * @source Hukka & Viitanen (1999), Wood Science and Technology 33, 475-485; Viitanen & Ojanen (2007); Ojanen et al. (2010)
 */
export function mouldIndex(
  temperature: Float64Array,
  humidity: Float64Array,
  from: MouldState = cleanSurface,
  chosen: Partial<MouldOptions> = {},
): MouldRun {
  sameLength('temperature', temperature, 'humidity', humidity);
  const options = mouldOptions(chosen);
  const material: MouldClass = mouldClasses[options.sensitivity];
  const { lowestHumidity } = material;
  const { a, b, c } = material.largest;
  const { humidityFloor } = options;
  // No growth limit lies under this, so that most dry hours are seen to be dry without the curve.
  const neverUnder = Math.min(lowestHumidity, LOWEST_OF_CURVE);
  const early = material.growthFactor;
  const late = material.growthFactorFromOne;
  const byResponse = options.growthFactor === 'response-times';
  const above = options.growthAtLimit === 'above';
  const timber = options.timberTerm === 'by-class' ? material.timberTerm : options.timberTerm;
  const { first, visible } = responseRegression;
  // 1/tm in steps of an hour, as one exponential of two logarithms
  const toFirst =
    -Math.log(HOURS_A_WEEK) - first.timber * timber - first.surface * options.surfaceTerm - first.constant;
  // tv / tm in the same two logarithms
  const overFirst = {
    temperature: visible.temperature - first.temperature,
    humidity: visible.humidity - first.humidity,
    constant:
      (visible.timber - first.timber) * timber +
      (visible.surface - first.surface) * options.surfaceTerm +
      visible.constant -
      first.constant,
  };
  const fast = declinePerHour[options.declineRates].fast * options.declineFactor;
  const slow = declinePerHour[options.declineRates].slow * options.declineFactor;

  let index = inRange('from.index', from.index, '', 0, LARGEST_INDEX);
  let dryHours = inRange('from.dryHours', from.dryHours, 'h', 0, Number.MAX_SAFE_INTEGER);
  let highest = inRange('from.highest', from.highest, '', 0, LARGEST_INDEX);
  let growthHours = 0;
  let unknownHours = 0;
  const path = new Float64Array(temperature.length);

  for (let i = 0; i < path.length; i += 1) {
    const t = temperature[i]!;
    const measured = humidity[i]!;
    if (!(t >= -60 && t <= 100 && measured >= 0 && measured < Number.POSITIVE_INFINITY)) {
      if (!Number.isNaN(t)) inRange(`temperature[${i}]`, t, '°C', -60, 100);
      if (!Number.isNaN(measured)) inRange(`humidity[${i}]`, measured, '%', 0, Number.MAX_VALUE);
      unknownHours += 1;
      path[i] = index;
      continue;
    }
    const h = Math.min(measured, 100);
    const limit =
      h >= neverUnder && t > 0 && t <= WARMEST_GROWTH ? growthLimitUnchecked(t, lowestHumidity, humidityFloor) : 100;
    // A limit of 100 is reached only at 0 °C, where nothing grows.
    if (h >= limit && limit < 100 && !(above && h === limit)) {
      dryHours = 0;
      growthHours += 1;
      const most = largestIndexUnchecked(h, limit, a, b, c);
      if (index < most) {
        const lnT = Math.log(t);
        const lnH = Math.log(h);
        const step = Math.exp(toFirst - first.temperature * lnT - first.humidity * lnH);
        let factor = index < 1 ? early : late;
        if (byResponse && index >= 1) {
          const ratio = Math.exp(overFirst.temperature * lnT + overFirst.humidity * lnH + overFirst.constant);
          factor = 2 / (ratio - 1);
        }
        index += factor * step * (1 - Math.exp(2.3 * (index - most)));
        if (index > highest) highest = index;
      }
    } else {
      dryHours += 1;
      if (dryHours <= FAST_DECLINE_HOURS) index -= fast;
      else if (dryHours > SLOW_DECLINE_AFTER_HOURS) index -= slow;
      if (index < 0) index = 0;
    }
    path[i] = index;
  }

  const state: MouldState = Object.freeze({
    index,
    dryHours,
    highest: Math.max(highest, index),
    hours: from.hours + path.length,
    growthHours: from.growthHours + growthHours,
    unknownHours: from.unknownHours + unknownHours,
  });
  return { index: path, state, options };
}

/**
 * The largest mould index that a constant state can lead to, 0 to 6.
 *
 * @param humidity at the surface, %, `limit` to 100
 * @param limit growth limit at its temperature, %, 60 to under 100
 * @throws RangeError outside those ranges
 * @source Hukka & Viitanen (1999); constants by class from Ojanen et al. (2010)
 */
export function largestMouldIndex(humidity: number, limit: number, material: MouldClass): number {
  inRange('limit', limit, '%', 60, 99.999999);
  inRange('humidity', humidity, '%', limit, 100);
  return largestIndexUnchecked(humidity, limit, material.largest.a, material.largest.b, material.largest.c);
}

function largestIndexUnchecked(humidity: number, limit: number, a: number, b: number, c: number): number {
  const reach = (limit - humidity) / (limit - 100);
  return a + reach * (b - c * reach);
}
