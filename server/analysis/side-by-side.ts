import { saturationSlopeOverWater } from '../physics/saturation.ts';
import { type ErrorPart, measured, propagate, standardFromLimit, standardUncertainty } from '../physics/uncertainty.ts';
import {
  type CalibratingNotice,
  type CalibratingSettings,
  type Column,
  calibratingSettings,
  combined,
  type Doubt,
  hoursInWords,
  medianOf,
  notYet,
  type Outcome,
  type Reason,
  reason,
  robustSpread,
  stepUncertainty,
  within,
} from './calibrating.ts';
import { type Calibration, correctedReading } from './calibration.ts';
import { fixed } from './say.ts';
import { HOUR_MS } from './vocabulary.ts';

/** One sensor in the box. */
export interface ComparedSeries extends Column {
  readonly seriesId: number;
  /** as people call the sensor */
  readonly name: string;
  /** in force when it was compared; the readings are as sent, and are corrected by it before the mean is taken */
  readonly calibration: Calibration | null;
  /** what a reading so corrected may be wrong by */
  readonly errors: readonly ErrorPart[];
}

/** What all are held against: their mean, or one of them that is known to be better. */
export type Reference = { readonly kind: 'mean' } | { readonly kind: 'sensor'; readonly seriesId: number };

export interface SideBySideRun {
  /** names the run, and so the error that all in it share */
  readonly name: string;
  readonly quantity: 'temperature' | 'humidity';
  /** UTC milliseconds: put together, and taken apart or now */
  readonly from: number;
  readonly to: number;
  readonly series: readonly ComparedSeries[];
  readonly reference: Reference;
  /** mean temperature in the box, °C; of use for humidity only. Null: not known, 20 °C is taken */
  readonly boxTemperature: number | null;
}

export interface SideBySideResult {
  /** null where the run has come to nothing yet */
  readonly reference: {
    /** mean over the run, in the unit of the quantity, and its standard uncertainty */
    readonly value: number;
    readonly uncertainty: number;
    /** sensors it is the mean of; the others stood too far from it */
    readonly seriesIds: readonly number[];
    /** how many times further apart the sensors are than their own uncertainties say, where that is more than 1 */
    readonly stretchedBy: number;
  } | null;
  /** one for each series; the chosen reference has none */
  readonly outcomes: readonly { readonly seriesId: number; readonly outcome: Outcome }[];
}

/** Half-hours that a sensor needs in common with the others: half of a run. */
const FEWEST_BLOCKS = 8;
/** Share of the fullest sensor's half-hours that one must have to count in the mean. */
const FULL_ENOUGH = 0.8;
/** Standard deviations from the others beyond which a block, or a sensor, is put aside. */
const WILD = 4;
const APART = 3;
/** Below this no spread counts: rounding of sums. */
const TINY = 1e-9;
/** A median of n values is this much less sure than their mean. */
const MEDIAN_PRICE = Math.sqrt(Math.PI / 2);

/**
 * Compares sensors that lay together in one closed box for a night.
 *
 * Readings are gathered into half-hours by their median, the time of settling left out. The reference is the mean of all
 * sensors, each weighted by what its data sheet or earlier calibration promises; a sensor further from the median of all
 * than the promises allow is left out of the mean, and gets its correction all the same. The mean has an error of its own,
 * which every corrected sensor shares; where the sensors lie further apart than they promise it is stretched to suit (Birge).
 *
 * Humidity is compared as relative humidity, not as vapour pressure: vapour pressure would bring every sensor's own
 * temperature error in, 3 % of humidity for 1 K, while the sensors stand at one temperature within a few hundredths of a
 * kelvin, which is counted as a doubt. A sensor that warms itself reads too warm and too dry; corrected against the others
 * in both, it tells the air around it.
 *
 * @source weighted mean and stretching: Birge (1932), Physical Review 40, 207-227 (from memory); combination: JCGM 100:2008
 */
export function compareSideBySide(run: SideBySideRun, settings = calibratingSettings): SideBySideResult {
  const begin = run.from + settings.boxHours * HOUR_MS;
  const gathered = withoutWild(run.series.map((series) => gather(series, run, begin, settings.blockHours * HOUR_MS)));
  const found = runTooShort(run, settings.runHours) ?? referenceOf(run, gathered);
  const judged = gathered.filter(
    ({ series }) => run.reference.kind === 'mean' || series.seriesId !== run.reference.seriesId,
  );
  if ('code' in found) {
    return {
      reference: null,
      outcomes: judged.map(({ series }) => ({ seriesId: series.seriesId, outcome: notYet(found) })),
    };
  }
  return {
    reference: {
      value: found.value,
      uncertainty: found.uncertainty,
      seriesIds: found.members.map(({ series }) => series.seriesId),
      stretchedBy: found.stretchedBy,
    },
    outcomes: judged.map((one) => ({
      seriesId: one.series.seriesId,
      outcome: outcomeOf(one, run, found, settings),
    })),
  };
}

function runTooShort({ from, to }: SideBySideRun, runHours: number): Reason | null {
  const hours = (to - from) / HOUR_MS;
  if (hours >= runHours) return null;
  return reason(
    'too-short',
    `The sensors have lain together for ${fixed(Math.max(0, hours), 1)} of the ${runHours} hours they need.`,
    `Leave them together for another ${hoursInWords(runHours - hours)}; a whole night is better.`,
    runHours - hours,
  );
}

/** One sensor's medians, an entry per block; NaN where a block has no reading. */
interface Gathered {
  readonly series: ComparedSeries;
  readonly sent: Float64Array;
  readonly corrected: Float64Array;
  readonly heard: number;
  readonly step: number;
}

function gather(series: ComparedSeries, run: SideBySideRun, begin: number, block: number): Gathered {
  const length = Math.max(0, Math.floor((run.to - begin) / block));
  const readings: number[][] = Array.from({ length }, () => []);
  const { times, values } = within(series, begin, begin + length * block);
  for (let k = 0; k < times.length; k++) readings[Math.floor((times[k]! - begin) / block)]!.push(values[k]!);
  const sent = Float64Array.from(readings, medianOf);
  const { calibration } = series;
  const corrected = sent.map((value) =>
    calibration === null || Number.isNaN(value) ? value : correctedReading(value, calibration.points, run.quantity),
  );
  return { series, sent, corrected, heard: heardIn(sent), step: stepUncertainty(series.values) };
}

const heardIn = (column: Float64Array): number => known(column).length;

const known = (column: Float64Array): Float64Array => column.filter((value) => !Number.isNaN(value));

/** The same with those blocks taken out in which a sensor was further from the median of all than it usually is. */
function withoutWild(gathered: readonly Gathered[]): Gathered[] {
  const middle = (gathered[0]?.corrected ?? new Float64Array(0)).map((_, b) =>
    medianOf(known(Float64Array.from(gathered, ({ corrected }) => corrected[b]!))),
  );
  return gathered.map((one) => {
    const apart = one.corrected.map((value, b) => value - middle[b]!);
    const usual = medianOf(known(apart));
    const allowed = WILD * Math.max(robustSpread(known(apart)), one.step, TINY);
    const keep = (value: number, b: number): number => (Math.abs(apart[b]! - usual) <= allowed ? value : Number.NaN);
    const sent = one.sent.map(keep);
    return { ...one, sent, corrected: one.corrected.map(keep), heard: heardIn(sent) };
  });
}

interface FoundReference {
  /** an entry per block, in the unit of the quantity; NaN where not all its members were heard */
  readonly values: Float64Array;
  readonly value: number;
  readonly uncertainty: number;
  readonly members: readonly Gathered[];
  readonly stretchedBy: number;
}

function referenceOf(run: SideBySideRun, gathered: readonly Gathered[]): FoundReference | Reason {
  const { reference } = run;
  if (reference.kind === 'mean') return meanReference(run, gathered);
  const chosen = gathered.find(({ series }) => series.seriesId === reference.seriesId);
  if (chosen === undefined || chosen.heard < FEWEST_BLOCKS) {
    return reason(
      'reference-missing',
      'The sensor chosen as the reference was not heard for long enough.',
      'Look after its battery and its connection, or choose another.',
    );
  }
  if (chosen.series.errors.length === 0) {
    return reason(
      'reference-missing',
      `Nothing is known of how exact ${chosen.series.name} is.`,
      'Say which type it is, or calibrate it first.',
    );
  }
  return weightedMean([chosen]);
}

function meanReference({ quantity }: SideBySideRun, gathered: readonly Gathered[]): FoundReference | Reason {
  const fullest = Math.max(FEWEST_BLOCKS, ...gathered.map(({ heard }) => heard));
  const full = gathered.filter(({ heard, series }) => heard >= FULL_ENOUGH * fullest && series.errors.length > 0);
  if (full.length < 3) {
    return reason(
      'too-few-sensors',
      `${full.length} of the sensors sent ${quantity} through the run: a mean needs three, for with two nobody can say which is wrong.`,
      'Put more sensors in the box, or choose one that is known to be good as the reference.',
    );
  }
  const means = full.map(({ corrected }) => meanOver(corrected, full));
  const doubts = full.map(doubtOf);
  const middle = medianOf(means);
  const doubtOfMiddle = (MEDIAN_PRICE * Math.hypot(...doubts)) / full.length;
  const near = full.filter((_, k) => Math.abs(means[k]! - middle) <= APART * Math.hypot(doubts[k]!, doubtOfMiddle));
  // also where no half-hour was common to all of them, and the means are NaN
  if (near.length < 2 || 2 * near.length <= full.length) {
    return reason(
      'no-agreement',
      'The sensors disagree so much, or were heard together so little, that no mean of them can be trusted.',
      'Look whether all lie in one box and have their right type; or choose one that is known to be good as the reference.',
    );
  }
  return weightedMean(near);
}

const doubtOf = ({ series }: Gathered): number => standardUncertainty(measured(0, ...series.errors));

/** Mean of a column over the blocks in which all of some sensors were heard; NaN where there are none. */
function meanOver(column: Float64Array, all: readonly Gathered[]): number {
  return mean(column.filter((_, b) => all.every(({ corrected }) => !Number.isNaN(corrected[b]!))));
}

const mean = (values: ArrayLike<number>): number => {
  let sum = 0;
  for (let k = 0; k < values.length; k++) sum += values[k]!;
  return sum / values.length;
};

function weightedMean(members: readonly Gathered[]): FoundReference {
  const weights = members.map((one) => 1 / doubtOf(one) ** 2);
  const whole = weights.reduce((sum, weight) => sum + weight, 0);
  const shares = weights.map((weight) => weight / whole);
  const values = members[0]!.corrected.map((_, b) =>
    members.reduce((sum, { corrected }, k) => sum + shares[k]! * corrected[b]!, 0),
  );
  const means = members.map(({ corrected }) => meanOver(corrected, members));
  const value = means.reduce((sum, own, k) => sum + shares[k]! * own, 0);
  const combinedMean = propagate(
    value,
    ...members.map(({ series }, k) => [measured(means[k]!, ...series.errors), shares[k]!] as const),
  );
  const apart = means.reduce((sum, own, k) => sum + weights[k]! * (own - value) ** 2, 0);
  const stretchedBy = members.length < 2 ? 1 : Math.max(1, Math.sqrt(apart / (members.length - 1)));
  return { values, value, uncertainty: stretchedBy * standardUncertainty(combinedMean), members, stretchedBy };
}

function outcomeOf(
  { series, sent, step }: Gathered,
  run: SideBySideRun,
  found: FoundReference,
  settings: CalibratingSettings,
): Outcome {
  const { quantity } = run;
  const kept = known(Float64Array.from(found.values, (value, b) => value - sent[b]!));
  if (kept.length < FEWEST_BLOCKS) {
    return notYet(
      reason(
        'too-few-readings',
        `${series.name} was heard together with the reference in ${kept.length} of the ${FEWEST_BLOCKS} half-hours it needs.`,
        'Look after its battery and its connection, and leave it in the box for longer.',
      ),
    );
  }
  const offset = mean(kept);
  const reading = medianOf(known(sent));
  const far = quantity === 'temperature' ? settings.farthestK : settings.farthestPct;
  if (Math.abs(offset) > far) {
    const unit = quantity === 'temperature' ? 'K' : '%';
    return notYet(
      reason(
        'too-far-off',
        `${series.name} reads ${fixed(-offset, 1)} ${unit} off the others: no sensor that works is so far off.`,
        'Look whether it lay in the box and sends the unit it should; if so, replace it.',
      ),
    );
  }
  const repeatability = Math.sqrt(mean(kept.map((value) => (value - offset) ** 2)) * (kept.length / (kept.length - 1)));
  const doubts: Doubt[] = [
    {
      source: found.members.length === 1 ? 'the reference' : 'the mean of the sensors',
      uncertainty: found.uncertainty,
      shared: true,
    },
    {
      source: 'repeatability, and the mean of it',
      uncertainty: repeatability * Math.sqrt(1 + 1 / independent(kept)),
      shared: false,
    },
    { source: 'steps in which it reports', uncertainty: step, shared: false },
    ...placeDoubts(run, found.value, settings),
  ];
  return {
    kind: 'proposed',
    proposal: {
      seriesId: series.seriesId,
      method: 'side-by-side',
      points: [{ reading, reference: reading + offset }],
      madeAt: run.to,
      ...combined(doubts, run.name),
      doubts,
      repeatability,
      notices: noticesOf(series, offset, found, quantity),
    },
  };
}

/**
 * How many independent values a row of neighbours that resemble each other is worth, by the correlation of each with the
 * next: n (1 - r) / (1 + r).
 *
 * @source Bayley & Hammersley (1946), Supplement to the Journal of the Royal Statistical Society 8, 184-197 (from memory)
 */
function independent(values: Float64Array): number {
  const middle = mean(values);
  let squares = 0;
  let products = 0;
  for (let k = 0; k < values.length; k++) {
    squares += (values[k]! - middle) ** 2;
    if (k > 0) products += (values[k]! - middle) * (values[k - 1]! - middle);
  }
  const likeness = squares === 0 ? 0 : Math.min(0.95, Math.max(0, products / squares));
  return Math.max(1, (values.length * (1 - likeness)) / (1 + likeness));
}

function placeDoubts(
  { quantity, boxTemperature }: SideBySideRun,
  value: number,
  settings: CalibratingSettings,
): Doubt[] {
  const { boxDifferenceK, hysteresisLimitPct } = settings;
  if (quantity === 'temperature') {
    return [{ source: 'differences within the box', uncertainty: boxDifferenceK, shared: false }];
  }
  const temperature = boxTemperature ?? 20;
  const perKelvin = value * saturationSlopeOverWater(temperature);
  return [
    { source: 'differences within the box', uncertainty: boxDifferenceK * perKelvin, shared: false },
    { source: 'memory of the humidity element', uncertainty: standardFromLimit(hysteresisLimitPct), shared: false },
  ];
}

function noticesOf(
  series: ComparedSeries,
  offset: number,
  found: FoundReference,
  quantity: SideBySideRun['quantity'],
): CalibratingNotice[] {
  const notices: CalibratingNotice[] = [];
  const unit = quantity === 'temperature' ? 'K' : '%';
  const trusted = standardUncertainty(measured(0, ...series.errors));
  if (series.calibration === null && Math.abs(offset) > APART * Math.hypot(trusted, found.uncertainty)) {
    notices.push({
      code: 'further-off-than-its-data-sheet',
      severity: 'caution',
      message: `${series.name} reads ${fixed(-offset, 1)} ${unit} off the others, more than its data sheet allows: repeat the run, and replace it if that stays.`,
      data: { offset, allowed: APART * trusted },
    });
  }
  notices.push(
    quantity === 'humidity'
      ? {
          code: 'one-humidity',
          severity: 'note',
          message: `Compared at ${fixed(found.value, 0)} %; far from that it is less sure. A salt near 75 % tells more where mould can grow.`,
          data: { humidityPct: found.value },
        }
      : {
          code: 'one-temperature',
          severity: 'note',
          message: `Compared at ${fixed(found.value, 0)} °C; far from that it is less sure.`,
          data: { temperatureC: found.value },
        },
  );
  return notices;
}
