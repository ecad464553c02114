import type { Notice } from './notice.ts';
import { inRange, sameLength } from './range.ts';

type DecayTracer = 'co2' | 'vapour';

export interface DecayOptions {
  /** what is dying away: CO2 (ppm) or vapour (any unit of concentration or pressure) */
  readonly tracer: DecayTracer;
  /** standard uncertainty of the background, in the unit of the concentrations */
  readonly backgroundUncertainty: number;
  /** an excess at or below this is lost in the sensor's noise and takes no part, in the same unit */
  readonly smallestExcess: number;
}

type DecayNotice = Notice<
  'too-few-points' | 'no-decay' | 'excess-too-small' | 'little-decay' | 'not-a-straight-line' | 'moisture-is-buffered'
>;

export type AirChangeDecay =
  | {
      readonly kind: 'air-changes';
      /** 1/h */
      readonly airChanges: number;
      /** standard uncertainty, 1/h: scatter about the line and the background together */
      readonly standardUncertainty: number;
      /** the part of it that is scatter about the line, 1/h; too small where the readings are smoothed or closely spaced */
      readonly scatterUncertainty: number;
      readonly degreesOfFreedom: number;
      /** excess at the earliest reading used, by the fitted line, in the unit of the concentrations */
      readonly excessAtStart: number;
      readonly pointsUsed: number;
      readonly pointsLeftOut: number;
      readonly source: string;
      readonly notices: readonly DecayNotice[];
    }
  | { readonly kind: 'not-enough'; readonly notices: readonly DecayNotice[] };

const SOURCE = 'ISO 12569:2017 and ASTM E741, concentration decay by regression';
const FEWEST_POINTS = 3;
/** A minute, in hours: within it nothing is seen of a decay. */
const SHORTEST_SPAN = 1 / 60;
/** Under any unit's rounding; keeps the logarithm and the reciprocal of an excess finite. */
const NO_EXCESS = 1e-12;
/** An excess that falls by less than a quarter says little against the noise. No source: our choice. */
const LEAST_FALL = 0.25;
/** Scatter above this share of n means that something else was going on. No source: our choice. */
const MOST_SCATTER = 0.2;

/**
 * Air changes of a single zone from the dying away of a tracer that nobody adds: n is the fall of ln(C - background) in
 * an hour, by least squares. Good for one well-mixed room or dwelling with steady outdoor air; people, gas flames and
 * drying add to the tracer and make n too small.
 *
 * @param hours time of each reading, h from any moment, any order; NaN where not known
 * @param concentrations the same readings; NaN where not known
 * @param background concentration of the air that comes in, in the same unit
 * @param options tracer, uncertainty of the background, smallest excess that counts
 * @throws RangeError where a number is not one, or the columns differ in length
 * @source ISO 12569:2017; ASTM E741, decay by regression
 */
export function airChangesFromDecay(
  hours: ArrayLike<number>,
  concentrations: ArrayLike<number>,
  background: number,
  options: DecayOptions,
): AirChangeDecay {
  sameLength('hours', hours, 'concentrations', concentrations);
  inRange('background', background, '', 0, 1e9);
  const { tracer } = options;
  const backgroundUncertainty = inRange('backgroundUncertainty', options.backgroundUncertainty, '', 0, 1e9);
  const smallestExcess = inRange('smallestExcess', options.smallestExcess, '', 0, 1e9);

  const times: number[] = [];
  const excesses: number[] = [];
  let leftOut = 0;
  for (let i = 0; i < hours.length; i += 1) {
    const hour = hours[i]!;
    const excess = concentrations[i]! - background;
    if (Number.isNaN(hour) || Number.isNaN(excess)) {
      leftOut += 1;
      continue;
    }
    inRange(`hours[${i}]`, hour, 'h', -1e6, 1e6);
    inRange(`concentrations[${i}]`, concentrations[i]!, '', 0, 1e9);
    if (excess <= smallestExcess || excess <= NO_EXCESS) {
      leftOut += 1;
      continue;
    }
    times.push(hour);
    excesses.push(excess);
  }

  const meanTime = mean(times);
  const spread = times.reduce((sum, time) => sum + (time - meanTime) ** 2, 0);
  const first = times.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const last = times.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  if (times.length < FEWEST_POINTS || last - first < SHORTEST_SPAN) {
    return {
      kind: 'not-enough',
      notices: [
        {
          code: 'too-few-points',
          severity: 'warning',
          message: `${times.length} readings rise clear of the background; at least ${FEWEST_POINTS}, over a minute or more, are needed.`,
          data: { points: times.length, pointsNeeded: FEWEST_POINTS, pointsLeftOut: leftOut },
        },
      ],
    };
  }

  const logarithms = excesses.map(Math.log);
  const weights = times.map((time) => (time - meanTime) / spread);
  const slope = dot(weights, logarithms);
  const level = mean(logarithms);
  const airChanges = -slope;
  const degreesOfFreedom = times.length - 2;
  const squares = times.reduce((sum, time, i) => sum + (logarithms[i]! - level - slope * (time - meanTime)) ** 2, 0);
  const scatterUncertainty = Math.sqrt(squares / degreesOfFreedom / spread);
  if (!(airChanges > 0)) {
    return {
      kind: 'not-enough',
      notices: [
        {
          code: 'no-decay',
          severity: 'warning',
          message: 'The excess does not die away; something was still adding to it.',
          data: { slopePerHour: slope, points: times.length },
        },
      ],
    };
  }
  // A background wrong by du moves each logarithm by -du / excess, all together.
  const byBackground = Math.abs(
    dot(
      weights,
      excesses.map((excess) => 1 / excess),
    ),
  );
  const standardUncertainty = Math.hypot(scatterUncertainty, byBackground * backgroundUncertainty);

  const span = last - first;
  const fall = 1 - Math.exp(slope * span);
  const notices: DecayNotice[] = [];
  if (fall < LEAST_FALL) {
    notices.push({
      code: 'little-decay',
      severity: 'caution',
      message: `The excess fell by only ${Math.round(100 * fall)} % while it was watched; watch it for longer.`,
      data: { fallPercent: 100 * fall, spanHours: span },
    });
  }
  if (scatterUncertainty > MOST_SCATTER * airChanges) {
    notices.push({
      code: 'not-a-straight-line',
      severity: 'caution',
      message: 'The readings do not die away evenly; a door, a window or a person may have come between.',
      data: { airChangesPerHour: airChanges, scatterPerHour: scatterUncertainty },
    });
  }
  if (leftOut > 0) {
    notices.push({
      code: 'excess-too-small',
      severity: 'note',
      message: `${leftOut} readings were missing or too near the background and took no part.`,
      data: { pointsLeftOut: leftOut, smallestExcess },
    });
  }
  if (tracer === 'vapour') {
    notices.push({
      code: 'moisture-is-buffered',
      severity: 'caution',
      message:
        'Walls, furniture and textiles take up vapour and give it back, so air changes from vapour are a rough sign, most often too low late in the decay and too high at its start.',
      data: { tracer },
    });
  }
  return {
    kind: 'air-changes',
    airChanges,
    standardUncertainty,
    scatterUncertainty,
    degreesOfFreedom,
    excessAtStart: Math.exp(level + slope * (first - meanTime)),
    pointsUsed: times.length,
    pointsLeftOut: leftOut,
    source: SOURCE,
    notices,
  };
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, value, i) => sum + value * b[i]!, 0);
