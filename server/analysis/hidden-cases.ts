import { type BuildUp, countedBuildUp, type DeclaredLayer, layerSd, pathsThrough } from '../physics/build-up.ts';
import { type ClimateMonth, type Drying, dryingOf } from '../physics/condensation-year.ts';
import { boundaryTemperatureHours } from '../physics/conduction-along.ts';
import { type AirStates, diffusionPathAlong } from '../physics/diffusion.ts';
import { growthLimit } from '../physics/growth-limit.ts';
import {
  type AirHours,
  type HiddenLayer,
  type HiddenLayerHours,
  hiddenLayerHours,
  hiddenLayerLimits,
  hiddenLayerState,
} from '../physics/hidden-layer.ts';
import { sheets } from '../physics/material.ts';
import { mouldIndex } from '../physics/mould-index.ts';
import { type MouldOptions, mouldOptions } from '../physics/mould-options.ts';
import { mouldClasses } from '../physics/mould-sensitivity.ts';
import { mouldStage } from '../physics/mould-stage.ts';
import { saturationPressure, saturationPressureOverWater } from '../physics/saturation.ts';
import { airOf, type LiningInput } from './lining-input.ts';
import { isRiskHour, riskCriterionWords } from './risk.ts';

export interface HiddenState {
  /** °C, Pa */
  readonly temperature: number;
  readonly vapourPressure: number;
  /** % over liquid water, at most 100 */
  readonly humidity: number;
  /** from which mould can grow there at that temperature, %; null: too cold for it */
  readonly growthLimit: number | null;
  /** water settles */
  readonly wet: boolean;
}

export interface HiddenMonth extends HiddenState {
  readonly name: string;
}

interface HiddenHours {
  readonly knownHours: number;
  readonly meanTemperature: number;
  readonly meanHumidity: number;
  readonly highestHumidity: number;
  readonly riskHours: number;
  /** hours over the growth limit, those in which the mould index grows */
  readonly growthHours: number;
  readonly wetHours: number;
  /** kg/m2; for the ceiling as it was, water settles and is not added up: null */
  readonly mostWater: number | null;
  readonly mouldHighest: number;
  readonly mouldAtEnd: number;
  readonly mouldWords: string;
  readonly series: {
    readonly temperature: Float64Array;
    readonly humidity: Float64Array;
    readonly mouldIndex: Float64Array;
    /** kg/m2 */
    readonly water: Float64Array;
  };
}

/** The old surface under one set of assumptions. */
export interface HiddenCase {
  readonly vapourControl: 'none yet: the ceiling as it was' | 'with' | 'without';
  readonly airLeak: number;
  readonly layer: HiddenLayer;
  readonly design: HiddenState;
  readonly months: readonly HiddenMonth[] | null;
  readonly logged: HiddenHours | null;
}

export interface HiddenResult {
  /** what the old surface is the face of */
  readonly surface: string;
  readonly before: HiddenCase;
  /** with and without vapour control, without and with the air leak */
  readonly after: readonly HiddenCase[];
  /** as the file describes it, with the stated air leak: what the warning is about */
  readonly asDescribed: HiddenCase;
  /** how the case of the other vapour control was made from the description */
  readonly otherVapourControl: string;
  /**
   * how long 1 kg/m2 of water at the old surface takes to dry by diffusion, as described and without a leak, from the
   * first month of the climate on; null: no climate
   */
  readonly drying: Drying | null;
  readonly riskCriterion: string;
  readonly mouldOptions: MouldOptions;
  readonly limits: typeof hiddenLayerLimits;
}

const total = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0);

/** The old surface as the balance of the physics sees it, in the clear part of a build-up. */
function hiddenLayerIn(buildUp: BuildUp, surface: number, cup: 'dry' | 'wet', airLeak: number): HiddenLayer {
  const { layers } = countedBuildUp(buildUp);
  const [clear] = pathsThrough(buildUp);
  const sd = layers.map((layer) => layerSd(layer, cup));
  return {
    resistanceToRoom: clear!.rsi + total(clear!.resistances.slice(0, surface)),
    resistanceToOutdoor: total(clear!.resistances.slice(surface)) + clear!.rse,
    sdToRoom: total(sd.slice(0, surface)),
    sdToOutdoor: total(sd.slice(surface)),
    airLeak,
  };
}

/**
 * The old surface before the lining and behind it, at the design state, month by month and hour by hour.
 *
 * @param months twelve months of climate; null: none known
 */
export function hiddenResult(input: LiningInput, months: readonly ClimateMonth[] | null): HiddenResult {
  const { before, after, oldSurface, cup, airLeak } = input;
  const options = mouldOptions(input.mould);
  // A film holds no heat, so that with and without vapour control the temperature is one and the same.
  const temperatureBefore = input.logged && surfaceTemperatures(before, 0, input.logged.air);
  const temperatureAfter = input.logged && surfaceTemperatures(after, oldSurface, input.logged.air);
  const caseOf = (
    vapourControl: HiddenCase['vapourControl'],
    layer: HiddenLayer,
    temperature: Float64Array | null,
  ): HiddenCase => ({
    vapourControl,
    airLeak: layer.airLeak,
    layer,
    design: hiddenStateAt(layer, airOf(input.design), options),
    months: months?.map((month) => ({ name: month.name, ...hiddenStateAt(layer, month, options) })) ?? null,
    logged:
      input.logged &&
      hiddenHoursOf(hiddenLayerHours(layer, input.logged.air, temperature ?? undefined), layer, options),
  });
  const described = input.vapourControl.length > 0 ? 'with' : 'without';
  const other = otherVapourControl(input);
  const leaks = airLeak > 0 ? [0, airLeak] : [0];
  const cases = (['with', 'without'] as const).flatMap((control) => {
    const { buildUp, surface } = control === described ? { buildUp: after, surface: oldSurface } : other;
    return leaks.map((leak) => caseOf(control, hiddenLayerIn(buildUp, surface, cup, leak), temperatureAfter));
  });
  return {
    surface: after.layers[oldSurface]!.name,
    before: caseOf('none yet: the ceiling as it was', hiddenLayerIn(before, 0, cup, 0), temperatureBefore),
    after: cases,
    asDescribed: cases.find((one) => one.vapourControl === described && one.airLeak === airLeak)!,
    otherVapourControl: other.words,
    drying: months && dryingBehind(input, months),
    riskCriterion: riskCriterionWords(),
    mouldOptions: options,
    limits: hiddenLayerLimits,
  };
}

/** Temperature of the old surface hour by hour, in the clear part, heat held by the layers counted, °C. */
function surfaceTemperatures(buildUp: BuildUp, surface: number, air: AirHours): Float64Array {
  const { layers } = countedBuildUp(buildUp);
  const [clear] = pathsThrough(buildUp);
  return boundaryTemperatureHours(clear!, layers, surface, air.roomTemperature, air.outdoorTemperature);
}

/** The standard's trial wetting, kg/m2, and the years within which it should be gone. @source ISO 13788:2012, clause 7, from memory */
const TRIAL_WETTING = { amount: 1, mostYears: 10 } as const;

function dryingBehind({ after, oldSurface, cup }: LiningInput, months: readonly ClimateMonth[]): Drying {
  const { layers } = countedBuildUp(after);
  const [clear] = pathsThrough(after);
  const path = diffusionPathAlong(clear!, layers, cup);
  const { sdToRoom } = hiddenLayerIn(after, oldSurface, cup, 0);
  const apart = (node: number): number => Math.abs(path.nodes[node]!.sd - sdToRoom);
  let node = 1;
  for (let other = 2; other < path.nodes.length - 1; other += 1) if (apart(other) < apart(node)) node = other;
  return dryingOf(path, months, { ...TRIAL_WETTING, node, start: 0 });
}

/** The described lining with its vapour control taken away, or with a film where it has none. */
function otherVapourControl({ after, oldSurface, vapourControl }: LiningInput): {
  buildUp: BuildUp;
  surface: number;
  words: string;
} {
  if (vapourControl.length === 0) {
    const film = sheets['polyethylene-0.15'];
    const layer: DeclaredLayer = { kind: 'declared', name: film.name, resistance: 0, sd: film.sd };
    const layers = [...after.layers.slice(0, oldSurface), layer, ...after.layers.slice(oldSurface)];
    return {
      buildUp: { ...after, layers },
      surface: oldSurface + 1,
      words: `The lining has no vapour control; the case with it adds ${film.name}, sd ${film.sd} m, sealed.`,
    };
  }
  const names = vapourControl.map((index) => after.layers[index]!.name);
  const layers = after.layers.map((layer, index) => {
    if (!vapourControl.includes(index)) return layer;
    if (layer.kind === 'declared') return { ...layer, sd: 0 };
    if (layer.kind === 'air') return layer;
    const { sd: _, ...unfaced } = layer;
    return unfaced;
  });
  return {
    buildUp: { ...after, layers },
    surface: oldSurface,
    words: `The case without vapour control leaves out ${names.join(' and ')}, or what faces it, as if it did not hold.`,
  };
}

function hiddenStateAt(layer: HiddenLayer, air: AirStates, options: MouldOptions): HiddenState {
  const { lowestHumidity } = mouldClasses[options.sensitivity];
  const { temperature, vapourPressure: balanced } = hiddenLayerState(layer, air);
  const saturation = saturationPressure(temperature);
  const pressure = Math.min(balanced, saturation);
  return {
    temperature,
    vapourPressure: pressure,
    humidity: Math.min(100, (100 * pressure) / saturationPressureOverWater(temperature)),
    growthLimit: growthLimit(temperature, lowestHumidity, options.humidityFloor),
    wet: balanced > saturation,
  };
}

function hiddenHoursOf(hours: HiddenLayerHours, layer: HiddenLayer, options: MouldOptions): HiddenHours {
  const { temperature, humidity, water } = hours;
  const mould = mouldIndex(temperature, humidity, undefined, options);
  let temperatures = 0;
  let humidities = 0;
  let highestHumidity = 0;
  let riskHours = 0;
  let mostWater = 0;
  for (let hour = 0; hour < temperature.length; hour += 1) {
    if (!Number.isFinite(temperature[hour]!)) continue;
    temperatures += temperature[hour]!;
    humidities += humidity[hour]!;
    highestHumidity = Math.max(highestHumidity, humidity[hour]!);
    if (isRiskHour(humidity[hour]!, temperature[hour]!) === true) riskHours += 1;
    mostWater = Math.max(mostWater, water[hour]!);
  }
  return {
    knownHours: hours.knownHours,
    meanTemperature: temperatures / hours.knownHours,
    meanHumidity: humidities / hours.knownHours,
    highestHumidity,
    riskHours,
    growthHours: mould.state.growthHours,
    wetHours: hours.wetHours,
    mostWater: layer.sdToRoom === 0 ? null : mostWater,
    mouldHighest: mould.state.highest,
    mouldAtEnd: mould.state.index,
    mouldWords: mouldStage(mould.state.highest).words,
    series: { temperature, humidity, mouldIndex: mould.index, water },
  };
}
