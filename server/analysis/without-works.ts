import { type MouldRun, mouldIndex } from '../physics/mould-index.ts';
import { surfaceHumidity } from '../physics/surface.ts';
import type { AssessmentSettings, Compared, Estimate } from './assessment.ts';
import { delayed } from './delay.ts';
import { estimateOf, quantileOf, spreadOf } from './estimate.ts';
import type { PhaseHours } from './phase-hours.ts';
import { randomStream } from './random.ts';
import { meanAndSwing, type Response, utcHour } from './response.ts';
import type { OffsetDraws, SensorDraws } from './sensor-draws.ts';
import { HOUR_MS } from './vocabulary.ts';
import { beginsWinter } from './winters.ts';

/** Draws of the sensors behind a surface's wetness and behind its response model. */
export interface WetnessOffsets {
  readonly surface: SensorDraws;
  readonly room: SensorDraws;
  readonly cold: SensorDraws;
}

export interface WithoutWorks {
  readonly riskHours: Compared;
  readonly condensationNights: Compared;
  readonly mouldIndex: Compared;
  /** cumulative over the after phase's local days, expected without the works */
  readonly expectedByDay: {
    readonly expected: Float64Array;
    readonly low: Float64Array;
    readonly high: Float64Array;
  } | null;
  /** mould index at the end of each local day of either phase */
  readonly mouldByDay: {
    readonly before: Float64Array | null;
    readonly after: Float64Array | null;
    readonly expected: {
      readonly expected: Float64Array;
      readonly low: Float64Array;
      readonly high: Float64Array;
    } | null;
  };
}

const DAY_HOURS = 24;
/** Resamples behind the band of the cumulative chart. */
const BAND_DRAWS = 200;
/** Draws without sensor offsets over which the expected mould index is averaged: it differs little between them. */
const PLAIN_MOULD_DRAWS = 10;
/** Share of the before phase's days, the most alike in outdoor mean and swing, from which a day's residuals are drawn. */
const ALIKE_SHARE = 0.15;
const FEWEST_ALIKE = 5;
/**
 * Standard uncertainty of the mean residual in another season, as a share of the residual's own size: sun and sky are not
 * logged and are not the same in December and March. Common practice, no source.
 */
const SEASON_SHARE = 0.3;
/** What a difference in mean counts against one in swing. */
const MEAN_WEIGHT = 0.25;

/** What was measured in one phase, as seen by each draw of sensor offsets. */
interface Measured {
  readonly risk: number;
  readonly riskDraws: Float64Array;
  readonly nights: number;
  readonly nightDraws: Float64Array;
  readonly mould: number;
  readonly mouldDraws: Float64Array;
  /** at the end of each local day */
  readonly mouldByDay: Float64Array;
}

/** K by which the temperatures at which a surface is at risk stand too high for each draw's room sensor. */
function wetShift(phase: PhaseHours, room: OffsetDraws): Float64Array {
  const { perHumidity, perTemperature } = phase.sensitivity;
  return room.humidity.map((offset, r) => perHumidity * offset + perTemperature * room.temperature[r]!);
}

/**
 * Hours at risk, nights with condensation and the mould index of a surface as measured. An offset of the surface sensor
 * or the room sensor moves every hour alike, so each hour is reduced once to the offset at which it would change sides.
 */
function measured(phase: PhaseHours, surface: OffsetDraws, room: OffsetDraws, settings: AssessmentSettings): Measured {
  const toRisk: number[] = [];
  const toWet = new Float64Array(phase.nights).fill(Number.NEGATIVE_INFINITY);
  let risk = 0;
  for (let i = phase.lead; i < phase.length; i++) {
    if (phase.valid[i] === 0) continue;
    const temperature = phase.surface[i]!;
    if (temperature > 0 && !Number.isNaN(phase.riskAt[i]!)) {
      const over = phase.riskAt[i]! - temperature;
      toRisk.push(over);
      if (over >= -1e-9) risk += 1;
    }
    const night = phase.night[i]!;
    const wet = phase.wetAt[i]! - temperature;
    if (night >= 0 && wet > toWet[night]!) toWet[night] = wet;
  }
  const sortedRisk = Float64Array.from(toRisk).sort();
  const sortedWet = toWet.filter((value) => value > Number.NEGATIVE_INFINITY).sort();
  const shift = wetShift(phase, room);
  // true margin to risk = riskAt - shift - (surface - offset)
  const atLeast = (sorted: Float64Array, r: number): number =>
    sorted.length - firstAtLeast(sorted, shift[r]! - surface.temperature[r]! - 1e-9);
  const mouldDraws = new Float64Array(settings.mouldResamples);
  for (let r = 0; r < mouldDraws.length; r++) {
    mouldDraws[r] = mouldRun(phase, phase.surface, surface.temperature[r]!, shift[r]!, settings).state.highest;
  }
  const mould = mouldRun(phase, phase.surface, 0, 0, settings);
  return {
    risk,
    riskDraws: shift.map((_, r) => atLeast(sortedRisk, r)),
    nights: sortedWet.length - firstAtLeast(sortedWet, -1e-9),
    nightDraws: shift.map((_, r) => atLeast(sortedWet, r)),
    mould: mould.state.highest,
    mouldDraws,
    mouldByDay: endsOfDays(phase, mould.index),
  };
}

/** Index of the first of ascending values that is at least `limit`. */
function firstAtLeast(values: Float64Array, limit: number): number {
  let low = 0;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle]! >= limit) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** Surface humidity far under any growth limit, %: whether it is this or less makes no difference to the index. */
const DRY_HUMIDITY = 70;
/** No surface warms by more than this for a fall of ln(humidity) by 1, K: 1 / (d ln psat / dT) at 40 °C. */
const KELVIN_PER_LOG = 19;

/** The last value of each local day of a phase. */
function endsOfDays(phase: PhaseHours, values: Float64Array): Float64Array {
  const first = phase.day[phase.lead] ?? 0;
  const days = new Float64Array(localDaysOf(phase)).fill(Number.NaN);
  for (let i = phase.lead; i < phase.length; i++) days[phase.day[i]! - first] = values[i - phase.lead]!;
  return days;
}

const localDaysOf = (phase: PhaseHours): number =>
  phase.length > phase.lead ? phase.day[phase.length - 1]! - phase.day[phase.lead]! + 1 : 0;

/** Mould index over the valid hours, sensor offsets taken off. */
function mouldRun(
  phase: PhaseHours,
  surface: Float64Array,
  offset: number,
  shift: number,
  settings: AssessmentSettings,
): MouldRun {
  const hours = phase.length - phase.lead;
  const temperature = new Float64Array(hours).fill(Number.NaN);
  const humidity = new Float64Array(hours).fill(Number.NaN);
  const dryFrom = Math.max(0, KELVIN_PER_LOG * Math.log(settings.riskLimitPct / DRY_HUMIDITY)) + 0.5;
  for (let i = phase.lead; i < phase.length; i++) {
    const own = surface[i]! - offset;
    if (phase.valid[i] === 0 || !(own > -60 && own < 100) || Number.isNaN(phase.riskAt[i]!)) continue;
    temperature[i - phase.lead] = own;
    if (own - (phase.riskAt[i]! - shift) > dryFrom) {
      humidity[i - phase.lead] = DRY_HUMIDITY;
      continue;
    }
    // humidity is the risk limit times psat(riskAt)/psat(surface)
    const over = surfaceHumidityFrom(phase.riskAt[i]! - shift, own, settings.riskLimitPct);
    humidity[i - phase.lead] = over;
  }
  return mouldIndex(temperature, humidity, undefined, { sensitivity: settings.mouldSensitivity });
}

/** Surface humidity of a surface at `own` where one at `riskAt` would have `limit`, %. */
function surfaceHumidityFrom(riskAt: number, own: number, limit: number): number {
  return Math.min(100, (limit * surfaceHumidity(1, own)) / surfaceHumidity(1, riskAt));
}

/**
 * What the after phase would have brought without the works, against what was measured. The untreated surface's response,
 * fitted on the before phase, is driven by the after phase's own room and cold side and judged by its own vapour pressure:
 * same weather, same living, only the fabric changed. Each draw has its own fit, its own sensor offsets and its own days
 * of residuals, because hours over a limit are not counted by a mean curve.
 *
 * @param response null where it could not be fitted: then only what was measured is given
 */
export function withoutWorks(
  before: PhaseHours | null,
  after: PhaseHours | null,
  response: Response | null,
  offsets: WetnessOffsets,
  settings: AssessmentSettings,
  seed: number,
  name: string,
): WithoutWorks {
  const first = before && measured(before, offsets.surface.before, offsets.room.before, settings);
  const second = after && measured(after, offsets.surface.after, offsets.room.after, settings);
  const expected = after && response ? expectedOf(after, response, offsets, settings, seed, name) : null;
  return {
    riskHours: compared(first, second, expected, 'risk'),
    condensationNights: compared(first, second, expected, 'nights'),
    mouldIndex: compared(first, second, expected, 'mould'),
    expectedByDay: expected === null ? null : expected.byDay,
    mouldByDay: {
      before: first?.mouldByDay ?? null,
      after: second?.mouldByDay ?? null,
      expected: expected?.mouldBand ?? null,
    },
  };
}

function compared(
  before: Measured | null,
  after: Measured | null,
  expected: Measured | null,
  what: 'risk' | 'nights' | 'mould',
): Compared {
  const drawsOf = (from: Measured): Float64Array =>
    what === 'risk' ? from.riskDraws : what === 'nights' ? from.nightDraws : from.mouldDraws;
  const estimate = (from: Measured | null): Estimate | null => from && estimateOf(from[what], drawsOf(from));
  return {
    before: estimate(before),
    after: estimate(after),
    expectedAfterWithoutWorks: estimate(expected),
    avoided:
      expected && after
        ? estimateOf(
            expected[what] - after[what],
            drawsOf(expected).map((value, r) => value - drawsOf(after)[r]!),
          )
        : null,
  };
}

function expectedOf(
  phase: PhaseHours,
  response: Response,
  offsets: WetnessOffsets,
  settings: AssessmentSettings,
  seed: number,
  name: string,
): Measured & {
  readonly byDay: NonNullable<WithoutWorks['expectedByDay']>;
  readonly mouldBand: NonNullable<WithoutWorks['mouldByDay']['expected']>;
} {
  const { resamples, mouldResamples } = settings;
  const hours = hoursToPredict(phase, response);
  const { at, difference, cold, riskAt, wetAt, residualHour, dayNumber, night } = hours;
  const days = hours.dayWeather.length;
  const alike = alikeDays(response, hours.dayWeather);
  const stream = randomStream(seed, `residual days ${name}`);
  const season = randomStream(seed, `season ${name}`);
  const shiftOfAir = wetShift(phase, offsets.room.after);
  const riskDraws = new Float64Array(resamples);
  const nightDraws = new Float64Array(resamples);
  const mouldDraws = new Float64Array(mouldResamples);
  const dayCount = hours.localDays;
  const bandDraws = Math.min(BAND_DRAWS, resamples);
  const band = Array.from({ length: bandDraws }, () => new Float64Array(dayCount));
  const meanByDay = new Float64Array(dayCount);
  const predicted = new Float64Array(phase.length).fill(Number.NaN);
  let riskSum = 0;
  let nightSum = 0;
  let mouldSum = 0;
  const plainMouldDraws = Math.min(PLAIN_MOULD_DRAWS, mouldResamples);
  const mouldMeanByDay = new Float64Array(dayCount);
  const mouldBand: Float64Array[] = [];
  const chosen = new Int32Array(days);
  const { f, intercept, residuals } = response;
  for (let r = 0; r < resamples; r++) {
    for (let d = 0; d < days; d++) chosen[d] = alike.days[d * alike.count + stream.whole(alike.count)]! * DAY_HOURS;
    const ownF = f[r]!;
    const ownIntercept = intercept[r]!;
    const drift = (place: SensorDraws): number => place.after.temperature[r]! - place.before.temperature[r]!;
    const surfaceOffset =
      offsets.surface.before.temperature[r]! +
      ownF * drift(offsets.room) +
      (1 - ownF) * drift(offsets.cold) +
      SEASON_SHARE * response.fit.residualK * season.normal();
    // true surface = predicted - surfaceOffset; it is at risk below riskAt - shiftOfAir
    const slack = surfaceOffset - shiftOfAir[r]!;
    const inBand = r < bandDraws ? band[r]! : null;
    const forMould = r < mouldResamples;
    let plain = 0;
    let seen = 0;
    let plainNights = 0;
    let seenNights = 0;
    let plainNight = -1;
    let seenNight = -1;
    for (let k = 0; k < at.length; k++) {
      const temperature =
        cold[k]! + ownIntercept + ownF * difference[k]! + residuals[chosen[dayNumber[k]!]! + residualHour[k]!]!;
      const gap = riskAt[k]! - temperature;
      if (temperature > 0) {
        if (gap >= 0) {
          plain += 1;
          meanByDay[hours.localDay[k]!]! += 1;
        }
        if (gap + slack >= 0) {
          seen += 1;
          if (inBand !== null) inBand[hours.localDay[k]!]! += 1;
        }
      }
      const ownNight = night[k]!;
      if (ownNight >= 0) {
        const wet = wetAt[k]! - temperature;
        if (wet >= 0 && ownNight !== plainNight) {
          plainNight = ownNight;
          plainNights += 1;
        }
        if (wet + slack >= 0 && ownNight !== seenNight) {
          seenNight = ownNight;
          seenNights += 1;
        }
      }
      if (forMould) predicted[at[k]!] = temperature;
    }
    riskSum += plain;
    nightSum += plainNights;
    riskDraws[r] = seen;
    nightDraws[r] = seenNights;
    if (forMould) {
      if (r < PLAIN_MOULD_DRAWS) {
        const plainRun = mouldRun(phase, predicted, 0, 0, settings);
        mouldSum += plainRun.state.highest;
        endsOfDays(phase, plainRun.index).forEach((index, d) => {
          mouldMeanByDay[d]! += index / plainMouldDraws;
        });
      }
      const run = mouldRun(phase, predicted, surfaceOffset, shiftOfAir[r]!, settings);
      mouldDraws[r] = run.state.highest;
      mouldBand.push(endsOfDays(phase, run.index));
    }
  }
  return {
    risk: riskSum / resamples,
    riskDraws,
    nights: nightSum / resamples,
    nightDraws,
    mould: mouldSum / plainMouldDraws,
    mouldDraws,
    mouldByDay: mouldMeanByDay,
    byDay: bandOf(
      sinceOctober(
        meanByDay.map((hours) => hours / resamples),
        phase,
      ),
      band.map((hours) => sinceOctober(hours, phase)),
    ),
    mouldBand: bandOf(mouldMeanByDay, mouldBand),
  };
}

/** Sums of a phase's days from its first day on, beginning anew each 1 October. */
function sinceOctober(byDay: Float64Array, phase: PhaseHours): Float64Array {
  const first = phase.day[phase.lead] ?? 0;
  let sum = 0;
  return byDay.map((hours, d) => {
    if (beginsWinter(first + d)) sum = 0;
    sum += hours;
    return sum;
  });
}

/** The middle 95 % of draws on each day, stretched to hold what is expected. */
function bandOf(expected: Float64Array, band: readonly Float64Array[]): NonNullable<WithoutWorks['expectedByDay']> {
  const days = expected.length;
  const low = new Float64Array(days);
  const high = new Float64Array(days);
  const column = new Float64Array(band.length);
  for (let d = 0; d < days; d++) {
    for (let r = 0; r < band.length; r++) column[r] = band[r]![d]!;
    column.sort();
    low[d] = Math.min(expected[d]!, quantileOf(column, 0.025));
    high[d] = Math.max(expected[d]!, quantileOf(column, 0.975));
  }
  return { expected, low, high };
}

/** The hours of the after phase that can be predicted, packed together. */
function hoursToPredict(phase: PhaseHours, response: Response) {
  const room = delayed(phase.room, response.lags.room, 'at once');
  const cold = delayed(phase.cold, response.lags.cold, 'at once');
  const indices: number[] = [];
  for (let i = phase.lead; i < phase.length; i++) {
    if (phase.valid[i] === 1 && !Number.isNaN(phase.riskAt[i]! + room[i]! + cold[i]!)) indices.push(i);
  }
  const at = Int32Array.from(indices);
  const pick = (of: (i: number) => number): Float64Array => Float64Array.from(at, of);
  const utcDay = (i: number): number => Math.floor((phase.start / HOUR_MS + i) / DAY_HOURS);
  const dayWeather: { mean: number; swing: number }[] = [];
  const dayNumber = new Int32Array(at.length);
  let current = Number.NaN;
  at.forEach((i, k) => {
    if (utcDay(i) !== current) {
      current = utcDay(i);
      const midnight = i - utcHour(phase, i);
      dayWeather.push(meanAndSwing(phase.cold, midnight, midnight + DAY_HOURS));
    }
    dayNumber[k] = dayWeather.length - 1;
  });
  const firstDay = phase.day[phase.lead] ?? 0;
  return {
    at,
    difference: pick((i) => room[i]! - cold[i]!),
    cold: pick((i) => cold[i]!),
    riskAt: pick((i) => phase.riskAt[i]!),
    wetAt: pick((i) => phase.wetAt[i]!),
    residualHour: Int32Array.from(at, (i) => utcHour(phase, i)),
    night: Int32Array.from(at, (i) => phase.night[i]!),
    dayNumber,
    dayWeather,
    localDay: Int32Array.from(at, (i) => phase.day[i]! - firstDay),
    localDays: localDaysOf(phase),
  };
}

/**
 * For each day to predict, the days of the before phase most alike in outdoor mean and swing, each measured against its
 * spread. The swing stands for sun and clear sky, which the logs do not hold.
 */
function alikeDays(
  response: Response,
  weather: readonly { mean: number; swing: number }[],
): { days: Int32Array; count: number } {
  const { dayMean, daySwing } = response;
  const n = dayMean.length;
  const count = Math.min(n, Math.max(FEWEST_ALIKE, Math.ceil(ALIKE_SHARE * n)));
  const meanSpread = Math.max(0.1, spreadOf(dayMean));
  const swingSpread = Math.max(0.1, spreadOf(daySwing));
  const days = new Int32Array(weather.length * count);
  const order = Array.from({ length: n }, (_, k) => k);
  const distance = new Float64Array(n);
  weather.forEach(({ mean, swing }, d) => {
    for (let k = 0; k < n; k++) {
      distance[k] =
        MEAN_WEIGHT * ((dayMean[k]! - mean) / meanSpread) ** 2 + ((daySwing[k]! - swing) / swingSpread) ** 2;
    }
    order.sort((a, b) => distance[a]! - distance[b]! || a - b);
    for (let k = 0; k < count; k++) days[d * count + k] = order[k]!;
  });
  return { days, count };
}
