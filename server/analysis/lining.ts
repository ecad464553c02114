import {
  type BuildUp,
  boundaryTemperatures,
  type CountedBuildUp,
  countedBuildUp,
  type DeclaredLayer,
  type Layer,
  layerSd,
  type Path,
  pathsThrough,
  type Transmittance,
  transmittance,
} from '../physics/build-up.ts';
import { type ClimateMonth, type CondensationYear, condensationYear } from '../physics/condensation-year.ts';
import { diffusionPathAlong, vapourProfile } from '../physics/diffusion.ts';
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
import { mouldStage } from '../physics/mould-stage.ts';
import type { Notice } from '../physics/notice.ts';
import { saturationPressure, saturationPressureOverWater } from '../physics/saturation.ts';
import { dewPointMargin, surfaceHumidity } from '../physics/surface.ts';
import { vapourPressure } from '../physics/vapour.ts';
import { coldestNight, type NightMeans } from './coldest-night.ts';
import { type Caution, liningCautions } from './lining-cautions.ts';
import { monthlyClimate } from './monthly-climate.ts';
import { isRiskHour, riskCriteria, riskCriterionWords } from './risk.ts';

/** Air on one or both sides, °C and % over liquid water. */
export interface DesignState {
  readonly roomTemperature: number;
  readonly roomHumidity: number;
  readonly outdoorTemperature: number;
  readonly outdoorHumidity: number;
}

/** Logged hours; entry `i` begins at `start + i` hours. NaN is not known. */
export interface LoggedHours {
  /** UTC milliseconds, a whole hour */
  readonly start: number;
  /** IANA time zone for nights and months */
  readonly zone: string;
  readonly air: AirHours;
}

export interface LiningInput {
  readonly before: BuildUp;
  readonly after: BuildUp;
  /** index in `after.layers` of the layer whose room-side face was the ceiling surface, at least 1 */
  readonly oldSurface: number;
  /** indices in `after.layers` of what holds vapour back on purpose, on the room side of the old surface; may be none */
  readonly vapourControl: readonly number[];
  readonly design: DesignState;
  /** twelve months typed in; null: from the log where it is long enough */
  readonly climate: readonly ClimateMonth[] | null;
  readonly logged: LoggedHours | null;
  /** allowance for room air that passes behind the lining, m3/(h m2) */
  readonly airLeak: number;
  /** options of the mould index at the old surface that differ from the defaults */
  readonly mould: Partial<MouldOptions>;
  /** which vapour resistance factor of a material is used */
  readonly cup: 'dry' | 'wet';
}

/** Surface resistances for which U, f and surface temperature are given, m2K/W. */
export const ratedSurfaceResistances = Object.freeze([0.1, 0.13, 0.25] as const);

/** Differences that count as worse. Common practice, no source: smaller ones are within what inputs are known to. */
export const worseFrom = Object.freeze({
  /** % of relative humidity */
  humidity: 1,
  /** hours a year */
  riskHours: 24,
  /** of the mould index */
  mouldIndex: 0.1,
  /** kg/m2 of water held */
  water: 0.01,
});

/** Surface of the ceiling towards the room in one steady state, for one surface resistance. */
export interface SurfacePrediction {
  readonly rsi: number;
  /** over bridges and clear parts, °C: from f = 1 - U Rsi */
  readonly meanTemperature: number;
  /** of the coldest way through, °C */
  readonly lowestTemperature: number;
  /** bridges on the coldest way; empty: the clear part */
  readonly coldestThrough: readonly string[];
  /** there, % and K */
  readonly surfaceHumidity: number;
  readonly margin: number;
}

export interface Boundary {
  readonly name: string;
  /** °C */
  readonly temperature: number;
  /** Pa */
  readonly vapourPressure: number;
  readonly saturation: number;
}

export interface BuildUpFigures {
  /** one for each of {@link ratedSurfaceResistances} */
  readonly transmittances: readonly Transmittance[];
  /** U with the surface resistance of the direction of heat flow, the one building codes ask for, W/(m2K) */
  readonly uValue: number;
  readonly design: readonly SurfacePrediction[];
  /** null: no log, or no night in it well enough known */
  readonly coldestNight: readonly SurfacePrediction[] | null;
  /** clear part at the design state, from the room outwards */
  readonly boundaries: readonly Boundary[];
  /** null: no twelve months of climate */
  readonly condensation: CondensationYear | null;
}

export interface HiddenState {
  /** °C, Pa */
  readonly temperature: number;
  readonly vapourPressure: number;
  /** % over liquid water, at most 100 */
  readonly humidity: number;
  /** water settles */
  readonly wet: boolean;
}

export interface HiddenMonth extends HiddenState {
  readonly name: string;
}

export interface HiddenHours {
  readonly knownHours: number;
  readonly meanTemperature: number;
  readonly meanHumidity: number;
  readonly highestHumidity: number;
  readonly riskHours: number;
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
  readonly riskCriterion: string;
  readonly mouldOptions: MouldOptions;
  readonly limits: typeof hiddenLayerLimits;
}

export type LiningNoticeCode =
  | Transmittance['notices'][number]['code']
  | 'hidden-layer-worse'
  | 'hidden-layer-damper'
  | 'hidden-layer-not-worse'
  | 'air-tightness-decides'
  | 'vapour-control-decides'
  | 'condensation-accumulates'
  | 'surface-still-at-risk'
  | 'thin-board-to-the-room'
  | 'no-monthly-climate'
  | 'no-log';

export type LiningNotice = Notice<LiningNoticeCode>;

export interface LiningResult {
  readonly design: DesignState;
  readonly coldestNight: NightMeans | null;
  readonly before: BuildUpFigures;
  readonly after: BuildUpFigures;
  readonly hidden: HiddenResult;
  readonly climateFrom: 'typed in' | 'the log' | null;
  /** what the lining adds, kg/m2, films not counted */
  readonly liningMass: number;
  readonly notices: readonly LiningNotice[];
  readonly cautions: readonly Caution[];
}

interface Climate {
  readonly months: readonly ClimateMonth[] | null;
  readonly from: LiningResult['climateFrom'];
  readonly missing: readonly string[];
}

/**
 * What a lining does to a ceiling: heat through it, the surface people see, and the surface nobody sees any more.
 *
 * @throws RangeError for layers, states or columns that cannot be
 * @source ISO 6946 and ISO 13788 through the functions called; comparison before and after is ours
 */
export function assessLining(input: LiningInput): LiningResult {
  const { after, oldSurface } = input;
  if (!(Number.isInteger(oldSurface) && oldSurface >= 1 && oldSurface < countedBuildUp(after).layers.length)) {
    throw new RangeError(
      `oldSurface is ${oldSurface}; it must be the index of a counted layer of after, with at least one layer on its room side`,
    );
  }
  const climate = climateOf(input);
  const night = input.logged && coldestNight(input.logged.air, input.logged.start, input.logged.zone);
  const before = figures(input.before, input, climate, night);
  const afterwards = figures(after, input, climate, night);
  const hidden = hiddenResult(input, climate);
  const lining = after.layers.slice(0, oldSurface);
  return {
    design: input.design,
    coldestNight: night,
    before,
    after: afterwards,
    hidden,
    climateFrom: climate.from,
    liningMass: lining.reduce((sum, layer) => sum + massOf(layer), 0),
    notices: noticesOn({ input, climate, before, after: afterwards, hidden }),
    cautions: liningCautions,
  };
}

function climateOf({ climate, logged }: LiningInput): Climate {
  if (climate !== null) return { months: climate, from: 'typed in', missing: [] };
  if (logged === null) return { months: null, from: null, missing: [] };
  const year = monthlyClimate(logged.air, logged.start, logged.zone);
  return year.kind === 'year'
    ? { months: year.months, from: 'the log', missing: [] }
    : { months: null, from: null, missing: year.missing };
}

const massOf = (layer: Layer): number => {
  if (layer.kind !== 'solid') return 0;
  const share = layer.bridge?.share ?? 0;
  return layer.thickness * ((1 - share) * layer.material.density + share * (layer.bridge?.material.density ?? 0));
};

function figures(buildUp: BuildUp, input: LiningInput, climate: Climate, night: NightMeans | null): BuildUpFigures {
  const counted = countedBuildUp(buildUp);
  const [clear] = pathsThrough(buildUp);
  const path = diffusionPathAlong(clear!, counted.layers, input.cup);
  return {
    transmittances: ratedSurfaceResistances.map((rsi) => transmittance(buildUp, rsi)),
    uValue: transmittance(buildUp).uValue,
    design: surfaces(buildUp, airOf(input.design)),
    coldestNight: night && surfaces(buildUp, night),
    boundaries: boundariesAt(clear!, counted, input),
    condensation: climate.months && condensationYear(path, climate.months),
  };
}

interface Air {
  readonly roomTemperature: number;
  readonly outdoorTemperature: number;
  readonly roomVapourPressure: number;
  readonly outdoorVapourPressure: number;
}

function airOf(state: DesignState): Air {
  return {
    roomTemperature: state.roomTemperature,
    outdoorTemperature: state.outdoorTemperature,
    roomVapourPressure: vapourPressure(state.roomTemperature, state.roomHumidity),
    outdoorVapourPressure: vapourPressure(state.outdoorTemperature, state.outdoorHumidity),
  };
}

function surfaces(buildUp: BuildUp, air: Air): SurfacePrediction[] {
  return ratedSurfaceResistances.map((rsi) => {
    const { temperatureFactor } = transmittance(buildUp, rsi);
    const coldest = pathsThrough(buildUp, rsi)
      .map((path) => ({
        through: path.through,
        temperature: boundaryTemperatures(path, air.roomTemperature, air.outdoorTemperature)[0]!,
      }))
      .reduce((least, one) => (one.temperature < least.temperature ? one : least));
    return {
      rsi,
      meanTemperature: air.outdoorTemperature + temperatureFactor * (air.roomTemperature - air.outdoorTemperature),
      lowestTemperature: coldest.temperature,
      coldestThrough: coldest.through,
      surfaceHumidity: surfaceHumidity(air.roomVapourPressure, coldest.temperature),
      margin: dewPointMargin(air.roomVapourPressure, coldest.temperature),
    };
  });
}

function boundariesAt(path: Path, counted: CountedBuildUp, { design, cup }: LiningInput): Boundary[] {
  const along = diffusionPathAlong(path, counted.layers, cup);
  const profile = vapourProfile(along, airOf(design));
  return along.nodes.flatMap((node, index) =>
    node.name.startsWith('within ')
      ? []
      : [
          {
            name: node.name,
            temperature: profile.temperatures[index]!,
            vapourPressure: profile.pressures[index]!,
            saturation: profile.saturation[index]!,
          },
        ],
  );
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

function hiddenResult(input: LiningInput, climate: Climate): HiddenResult {
  const { before, after, oldSurface, cup, airLeak } = input;
  const options = mouldOptions(input.mould);
  const caseOf = (vapourControl: HiddenCase['vapourControl'], layer: HiddenLayer): HiddenCase => ({
    vapourControl,
    airLeak: layer.airLeak,
    layer,
    design: hiddenStateAt(layer, airOf(input.design)),
    months: climate.months?.map((month) => ({ name: month.name, ...hiddenStateAt(layer, month) })) ?? null,
    logged: input.logged && hiddenHoursOf(hiddenLayerHours(layer, input.logged.air), layer, options),
  });
  const described = input.vapourControl.length > 0 ? 'with' : 'without';
  const other = otherVapourControl(input);
  const leaks = airLeak > 0 ? [0, airLeak] : [0];
  const cases = (['with', 'without'] as const).flatMap((control) => {
    const { buildUp, surface } = control === described ? { buildUp: after, surface: oldSurface } : other;
    return leaks.map((leak) => caseOf(control, hiddenLayerIn(buildUp, surface, cup, leak)));
  });
  return {
    surface: after.layers[oldSurface]!.name,
    before: caseOf('none yet: the ceiling as it was', hiddenLayerIn(before, 0, cup, 0)),
    after: cases,
    asDescribed: cases.find((one) => one.vapourControl === described && one.airLeak === airLeak)!,
    otherVapourControl: other.words,
    riskCriterion: riskCriterionWords,
    mouldOptions: options,
    limits: hiddenLayerLimits,
  };
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

function hiddenStateAt(layer: HiddenLayer, air: Air): HiddenState {
  const { temperature, vapourPressure: balanced } = hiddenLayerState(layer, air);
  const saturation = saturationPressure(temperature);
  const pressure = Math.min(balanced, saturation);
  return {
    temperature,
    vapourPressure: pressure,
    humidity: Math.min(100, (100 * pressure) / saturationPressureOverWater(temperature)),
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
    wetHours: hours.wetHours,
    mostWater: layer.sdToRoom === 0 ? null : mostWater,
    mouldHighest: mould.state.highest,
    mouldAtEnd: mould.state.index,
    mouldWords: mouldStage(mould.state.highest).words,
    series: { temperature, humidity, mouldIndex: mould.index, water },
  };
}

/** One thing in which the old surface is worse off behind the lining, in words and figures. */
interface Worsening {
  readonly code: string;
  readonly words: string;
  readonly before: number;
  readonly after: number;
}

/** Ways in which `after` is worse than `before` and past a limit that matters. Empty: none. */
function worsenings(before: HiddenCase, after: HiddenCase): Worsening[] {
  const found: Worsening[] = [];
  const limit = riskCriteria.humidity;
  const compare = (code: string, place: string, one: HiddenState, two: HiddenState): void => {
    if (two.humidity >= limit && two.humidity - one.humidity >= worseFrom.humidity) {
      found.push({
        code: `${code}-humidity`,
        words: `${two.humidity.toFixed(0)} % humidity ${place} instead of ${one.humidity.toFixed(0)} %`,
        before: one.humidity,
        after: two.humidity,
      });
    }
    if (two.wet && !one.wet) {
      found.push({ code: `${code}-water`, words: `water settles ${place}`, before: 0, after: 1 });
    }
  };
  compare('design', 'at the design state', before.design, after.design);
  const worst = worstMonth(before, after);
  if (worst !== null) compare('month', `in ${worst.after.name}`, worst.before, worst.after);
  const one = before.logged;
  const two = after.logged;
  if (one !== null && two !== null && two.knownHours > 0) {
    const perYear = 8760 / two.knownHours;
    if ((two.riskHours - one.riskHours) * perYear >= worseFrom.riskHours) {
      found.push({
        code: 'risk-hours',
        words: `${two.riskHours} risk hours in the log instead of ${one.riskHours}`,
        before: one.riskHours,
        after: two.riskHours,
      });
    }
    if (two.mouldHighest - one.mouldHighest >= worseFrom.mouldIndex) {
      found.push({
        code: 'mould-index',
        words: `mould index up to ${two.mouldHighest.toFixed(1)} instead of ${one.mouldHighest.toFixed(1)}`,
        before: one.mouldHighest,
        after: two.mouldHighest,
      });
    }
    if ((two.mostWater ?? 0) >= worseFrom.water) {
      found.push({
        code: 'water-held',
        words: `up to ${((two.mostWater ?? 0) * 1000).toFixed(0)} g/m2 of water held behind the lining`,
        before: 0,
        after: two.mostWater ?? 0,
      });
    }
  }
  return found;
}

/** The month in which the surface is dampest afterwards, with the same month before. */
function worstMonth(before: HiddenCase, after: HiddenCase): { before: HiddenMonth; after: HiddenMonth } | null {
  if (before.months === null || after.months === null) return null;
  const index = after.months.reduce(
    (best, month, at) => (month.humidity > after.months![best]!.humidity ? at : best),
    0,
  );
  return { before: before.months[index]!, after: after.months[index]! };
}

interface Found {
  readonly input: LiningInput;
  readonly climate: Climate;
  readonly before: BuildUpFigures;
  readonly after: BuildUpFigures;
  readonly hidden: HiddenResult;
}

/** In this order: what is worse, what decides it, what is left at risk, what is missing, what the method says of itself. */
function noticesOn(found: Found): LiningNotice[] {
  return [
    ...hiddenLayerNotices(found),
    ...condensationNotices(found),
    ...surfaceNotices(found),
    ...boardNotices(found),
    ...missingNotices(found),
    ...methodNotices(found),
  ];
}

function hiddenLayerNotices({ hidden }: Found): LiningNotice[] {
  const { before, asDescribed, after } = hidden;
  const worse = worsenings(before, asDescribed);
  const colder = before.design.temperature - asDescribed.design.temperature;
  const data = {
    surface: hidden.surface,
    temperature_before_c: before.design.temperature,
    temperature_after_c: asDescribed.design.temperature,
    humidity_before_pct: before.design.humidity,
    humidity_after_pct: asDescribed.design.humidity,
    air_leak_m3_per_h_m2: asDescribed.airLeak,
    worse_in: worse.map(({ code }) => code),
  };
  const notices: LiningNotice[] = [];
  if (worse.length > 0) {
    notices.push({
      code: 'hidden-layer-worse',
      severity: 'warning',
      message: `This lining makes the hidden layer worse: behind it the ${hidden.surface} is ${colder.toFixed(1)} K colder at the design state, and there: ${worse.map(({ words }) => words).join('; ')}.`,
      data,
    });
  } else if (asDescribed.design.humidity - before.design.humidity >= worseFrom.humidity) {
    notices.push({
      code: 'hidden-layer-damper',
      severity: 'caution',
      message: `Behind the lining the ${hidden.surface} is damper at the design state, ${asDescribed.design.humidity.toFixed(0)} % instead of ${before.design.humidity.toFixed(0)} %, but under ${riskCriteria.humidity} %.`,
      data,
    });
  } else {
    notices.push({
      code: 'hidden-layer-not-worse',
      severity: 'note',
      message: `Behind the lining the ${hidden.surface} is ${colder.toFixed(1)} K colder and no worse off at the design state: ${asDescribed.design.humidity.toFixed(0)} % instead of ${before.design.humidity.toFixed(0)} %. Measure it to be sure.`,
      data,
    });
  }
  const isWorse = (one: HiddenCase | undefined): boolean => one !== undefined && worsenings(before, one).length > 0;
  const same = (vapourControl: HiddenCase['vapourControl'], leak: number): HiddenCase | undefined =>
    after.find((one) => one.vapourControl === vapourControl && one.airLeak === leak);
  const described = asDescribed.vapourControl;
  if (asDescribed.airLeak > 0 && isWorse(asDescribed) && !isWorse(same(described, 0))) {
    notices.push({
      code: 'air-tightness-decides',
      severity: 'warning',
      message: `Without any air leak the hidden layer would be no worse than before; with ${asDescribed.airLeak} m3/(h m2) of room air behind the lining it is. How well the edges and joints are sealed decides.`,
      data: { air_leak_m3_per_h_m2: asDescribed.airLeak },
    });
  }
  const withControl = same('with', asDescribed.airLeak);
  const without = same('without', asDescribed.airLeak);
  if (isWorse(without) && !isWorse(withControl)) {
    notices.push({
      code: 'vapour-control-decides',
      severity: described === 'with' ? 'caution' : 'warning',
      message:
        described === 'with'
          ? 'The vapour control is what keeps the hidden layer no worse than before. It has to be whole: joints taped, edges sealed, no holes.'
          : 'With vapour control on the room side the hidden layer would be no worse than before. This build-up has none.',
      data: { described },
    });
  }
  return notices;
}

function condensationNotices({ before, after }: Found): LiningNotice[] {
  const year = after.condensation;
  if (year?.kind !== 'accumulates') return [];
  const earlier = before.condensation?.kind === 'accumulates' ? before.condensation.remaining : 0;
  return [
    {
      code: 'condensation-accumulates',
      severity: year.remaining > earlier ? 'warning' : 'caution',
      message: `By the monthly method ${(year.remaining * 1000).toFixed(0)} g/m2 of water are still inside the lined ceiling after a year (as it was: ${(earlier * 1000).toFixed(0)} g/m2).`,
      data: { remaining_before_kg_m2: earlier, remaining_after_kg_m2: year.remaining, peak_after_kg_m2: year.peak },
    },
  ];
}

function surfaceNotices({ after }: Found): LiningNotice[] {
  const mould = after.design.find((surface) => surface.rsi === 0.25)!;
  if (!(mould.surfaceHumidity >= riskCriteria.humidity)) return [];
  return [
    {
      code: 'surface-still-at-risk',
      severity: 'warning',
      message: `At the design state the lined surface itself still reaches ${mould.surfaceHumidity.toFixed(0)} % ${mould.coldestThrough.length > 0 ? `over the ${mould.coldestThrough.join(' and ')} ` : ''}where air moves little (Rsi 0.25). More insulation, or a drier room, is needed.`,
      data: {
        surface_humidity_pct: mould.surfaceHumidity,
        temperature_c: mould.lowestTemperature,
        through: mould.coldestThrough,
      },
    },
  ];
}

const THINNEST_BOARD_M = 0.0125;

function boardNotices({ input }: Found): LiningNotice[] {
  const board = input.after.layers.find((layer) => layer.kind === 'solid');
  if (board === undefined || board.thickness >= THINNEST_BOARD_M) return [];
  return [
    {
      code: 'thin-board-to-the-room',
      severity: 'caution',
      message: `The board that faces the room, ${board.name}, is ${(board.thickness * 1000).toFixed(1)} mm thick. Over foam that may not give the fire performance the local code asks of a ceiling; ask before you build.`,
      data: { layer: board.name, thickness_mm: board.thickness * 1000 },
    },
  ];
}

function missingNotices({ input, climate }: Found): LiningNotice[] {
  const notices: LiningNotice[] = [];
  if (input.logged === null) {
    notices.push({
      code: 'no-log',
      severity: 'note',
      message:
        'No logged hours were given, so there is no coldest night and no mould index behind the lining. Give --room and --outdoor.',
      data: {},
    });
  }
  if (climate.months === null) {
    const known = input.logged === null ? '' : ` The log does not cover enough of: ${climate.missing.join(', ')}.`;
    notices.push({
      code: 'no-monthly-climate',
      severity: 'note',
      message: `No monthly condensation table: it needs twelve months, typed in or logged.${known}`,
      data: { missing: climate.missing },
    });
  }
  return notices;
}

function methodNotices({ before, after }: Found): LiningNotice[] {
  const seen = new Map<string, LiningNotice>();
  for (const [when, figures] of [
    ['before', before],
    ['after', after],
  ] as const) {
    for (const notice of figures.transmittances[0]!.notices) {
      const known = [...seen.values()].some((one) => one.message === notice.message);
      if (!known) seen.set(`${when} ${notice.code}`, notice);
    }
  }
  return [...seen.values()];
}
