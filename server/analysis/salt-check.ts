import { type SaltPoint, type SaturatedSalt, saltHumidity } from '../physics/saturated-salts.ts';
import { saturationSlopeOverWater } from '../physics/saturation.ts';
import { standardFromLimit } from '../physics/uncertainty.ts';
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
  stepUncertainty,
  within,
} from './calibrating.ts';
import type { CalibrationPoint } from './calibration.ts';
import { fixed } from './say.ts';
import { judgeSteadiness, type Steadiness, steadinessLimits } from './steadiness.ts';
import { HOUR_MS } from './vocabulary.ts';

/** A sensor over one saturated salt. Times in UTC milliseconds. */
export interface SaltRun {
  /** names the jar, and so the error that all in it share */
  readonly name: string;
  readonly salt: SaturatedSalt;
  readonly solutionMadeAt: number;
  /** sensor put in, and taken out or now */
  readonly from: number;
  readonly to: number;
  /** the humidity series, as sent */
  readonly humidity: Column;
  /** temperature of the same sensor, corrected by its calibration in force; null: it measures none */
  readonly temperature: Column | null;
  /** standard uncertainty of that temperature, K */
  readonly temperatureUncertainty: number;
}

interface SaltResult {
  readonly point: CalibrationPoint;
  readonly doubts: readonly Doubt[];
  readonly repeatability: number;
  readonly notices: readonly CalibratingNotice[];
}

export const saltSteadiness = ({ humidity, from, to }: SaltRun, settings = calibratingSettings): Steadiness =>
  judgeSteadiness(humidity, from, to, { ...steadinessLimits.salt.humidity, settlingHours: settings.saltHours });

/**
 * Calibrates the humidity of one sensor by one saturated salt (an offset) or two (the line through both).
 *
 * The reference is Greenspan's humidity at the temperature the sensor itself shows. Counted as doubt: his table, a
 * difference between sensor and salt (at 20 °C one kelvin is 6 % of the humidity), the temperature's own error, what the
 * readings would still move in an hour, their scatter, their steps, and the memory of the humidity element. Between two
 * salts the line is as sure as the worse of them; beyond them it is a guess, and said so.
 *
 * @param runs one or two
 * @throws RangeError for none or more than two
 * @source Greenspan (1977), {@link saltHumidity}
 */
export function calibrateBySalt(seriesId: number, runs: readonly SaltRun[], settings = calibratingSettings): Outcome {
  if (runs.length < 1 || runs.length > 2) {
    throw new RangeError(`there are ${runs.length} salt runs; there must be 1 or 2`);
  }
  const results = runs.map((run) => saltResult(run, settings));
  const reasons = results.flatMap((result) => ('reasons' in result ? result.reasons : []));
  const found = results.filter((result) => 'point' in result);
  if (reasons.length > 0) return notYet(...reasons);
  const [first, second] = found;
  const madeAt = Math.max(...runs.map(({ to }) => to));
  if (second === undefined) {
    const { point, doubts, repeatability, notices } = first!;
    return {
      kind: 'proposed',
      proposal: {
        seriesId,
        method: 'salt',
        points: [point],
        madeAt,
        ...combined(doubts, runs[0]!.name),
        doubts,
        repeatability,
        notices: [...notices, oneHumidity(point.reference)],
      },
    };
  }
  return throughTwo(seriesId, first!, second, madeAt);
}

/** Two salts closer than this make a line that scatter can tilt; no source: common practice. */
const LEAST_APART_PCT = 20;

function throughTwo(seriesId: number, first: SaltResult, second: SaltResult, madeAt: number): Outcome {
  const [low, high] = [first, second].sort((a, b) => a.point.reference - b.point.reference) as [SaltResult, SaltResult];
  const apart = high.point.reference - low.point.reference;
  if (!(apart >= LEAST_APART_PCT && high.point.reading - low.point.reading >= LEAST_APART_PCT / 2)) {
    return notYet(
      reason(
        'salts-too-close',
        `The two salts are ${fixed(apart, 0)} % apart, or the sensor can hardly tell them apart.`,
        'Take two that are at least 20 % apart, such as magnesium chloride and sodium chloride, or use one alone.',
      ),
    );
  }
  const sureness = (result: SaltResult): number => combined(result.doubts, '').uncertainty;
  const worse = sureness(low) > sureness(high) ? low : high;
  return {
    kind: 'proposed',
    proposal: {
      seriesId,
      method: 'salt',
      points: [low.point, high.point],
      madeAt,
      uncertainty: sureness(worse),
      sharedSource: null,
      sharedUncertainty: 0,
      doubts: worse.doubts.map((doubt) => ({ ...doubt, shared: false })),
      repeatability: Math.max(low.repeatability, high.repeatability),
      notices: [
        ...low.notices,
        ...high.notices,
        {
          code: 'beyond-the-salts',
          severity: 'note',
          message: `Sure between ${fixed(low.point.reference, 0)} and ${fixed(high.point.reference, 0)} %; beyond, the line is drawn on and less sure.`,
          data: { lowPct: low.point.reference, highPct: high.point.reference },
        },
      ],
    },
  };
}

const oneHumidity = (humidity: number): CalibratingNotice => ({
  code: 'one-humidity',
  severity: 'note',
  message: `Compared at ${fixed(humidity, 0)} %; far from that it is less sure. A second salt makes a line of it.`,
  data: { humidityPct: humidity },
});

const words = (salt: SaturatedSalt): string => salt.replaceAll('-', ' ');

function saltResult(run: SaltRun, settings: CalibratingSettings): SaltResult | { readonly reasons: Reason[] } {
  const steadiness = saltSteadiness(run, settings);
  const reasons = [...tooYoung(run, settings), ...unsteady(run, steadiness), ...temperatureReasons(run)];
  if (reasons.length > 0) return { reasons };
  const reading = medianOf(within(run.humidity, steadiness.from, run.to).values);
  const temperature = medianOf(within(run.temperature!, steadiness.from, run.to).values);
  const truth = saltHumidity(run.salt, temperature);
  if (Math.abs(reading - truth.humidity) > settings.farthestPct) {
    return {
      reasons: [
        reason(
          'too-far-off',
          `The sensor reads ${fixed(reading, 1)} % over ${words(run.salt)}, which makes ${fixed(truth.humidity, 1)} %.`,
          'Look whether it is that salt, wet through and with some undissolved, and the jar tight; if so, replace the sensor.',
        ),
      ],
    };
  }
  const slope = Math.abs(steadiness.slopePerHour!);
  const repeatability = steadiness.scatter!;
  return {
    point: { reading, reference: truth.humidity },
    doubts: [
      { source: 'table of the salt', uncertainty: standardFromLimit(truth.uncertainty), shared: true },
      {
        source: 'temperature of sensor and salt apart',
        uncertainty: settings.saltDifferenceK * perKelvin(truth),
        shared: false,
      },
      { source: 'temperature', uncertainty: run.temperatureUncertainty * saltSlope(run.salt, truth), shared: false },
      // what it would move in another hour, at most
      { source: 'still settling', uncertainty: standardFromLimit(slope), shared: false },
      {
        source: 'repeatability, and the mean of it',
        uncertainty: repeatability * Math.sqrt(1 + 1 / steadiness.readings),
        shared: false,
      },
      { source: 'steps in which it reports', uncertainty: stepUncertainty(run.humidity.values), shared: false },
      {
        source: 'memory of the humidity element',
        uncertainty: standardFromLimit(settings.hysteresisLimitPct),
        shared: false,
      },
    ],
    repeatability,
    notices: truth.status === 'read' ? [] : [fromMemory(run.salt, truth)],
  };
}

/** How far a sensor's humidity moves when it is 1 K from the salt, %. */
const perKelvin = ({ temperature, humidity }: SaltPoint): number => humidity * saturationSlopeOverWater(temperature);

/** How far the salt's own humidity moves for 1 K, %. */
function saltSlope(salt: SaturatedSalt, { temperature }: SaltPoint): number {
  const low = Math.max(10, temperature - 2.5);
  const high = Math.min(30, temperature + 2.5);
  return Math.abs(saltHumidity(salt, high).humidity - saltHumidity(salt, low).humidity) / (high - low);
}

const fromMemory = (salt: SaturatedSalt, { humidity }: SaltPoint): CalibratingNotice => ({
  code: 'table-from-memory',
  severity: 'caution',
  message: `The value for ${words(salt)}, ${fixed(humidity, 1)} %, could not be read in the published table itself: compare it with the salt's own certificate.`,
  data: { salt, humidityPct: humidity },
});

function tooYoung({ salt, solutionMadeAt, to }: SaltRun, { solutionHours }: CalibratingSettings): Reason[] {
  const hours = (to - solutionMadeAt) / HOUR_MS;
  if (hours >= solutionHours) return [];
  return [
    reason(
      'solution-too-young',
      `The ${words(salt)} was made ${fixed(Math.max(0, hours), 0)} hours ago and needs ${solutionHours}.`,
      `Leave the jar closed for another ${hoursInWords(solutionHours - hours)}.`,
      solutionHours - hours,
    ),
  ];
}

function unsteady({ salt }: SaltRun, { kind, hoursLeft, readings, limits, slopePerHour }: Steadiness): Reason[] {
  if (kind === 'stable') return [];
  if (kind === 'unstable') {
    return [
      reason(
        'unsteady',
        `The humidity over ${words(salt)} jumps about.`,
        'Close the jar tightly, wrap it, and keep it from sun and draughts.',
      ),
    ];
  }
  if (slopePerHour === null) {
    return [
      reason(
        'too-few-readings',
        `There are ${readings} readings since it settled; it takes ${limits.fewestReadings}.`,
        'Wait, or let the sensor report more often.',
        hoursLeft > 0 ? hoursLeft : null,
      ),
    ];
  }
  return [
    reason(
      'settling',
      `The humidity over ${words(salt)} is still moving, by ${fixed(Math.abs(slopePerHour), 2)} % an hour, or was given too little time.`,
      hoursLeft > 0 ? `Wait another ${hoursInWords(hoursLeft)} at least.` : 'Wait until it has come to rest.',
      hoursLeft > 0 ? hoursLeft : null,
    ),
  ];
}

function temperatureReasons({ temperature, from, to }: SaltRun): Reason[] {
  const { windowHours, ...limits } = steadinessLimits.salt.temperature;
  const window = temperature && within(temperature, Math.max(from, to - windowHours * HOUR_MS), to);
  if (temperature === null || window === null || window.times.length === 0) {
    return [
      reason(
        'temperature-missing',
        'The sensor sends no temperature, and the humidity over a salt depends on it.',
        'Use a sensor that measures both.',
      ),
    ];
  }
  const middle = medianOf(window.values);
  if (!(middle >= 10 && middle <= 30)) {
    return [
      reason(
        'temperature-out-of-range',
        `It is ${fixed(middle, 1)} °C in the jar; the table goes from 10 to 30 °C.`,
        'Put the jar where it is about 20 °C.',
      ),
    ];
  }
  const steady = judgeSteadiness(temperature, from, to, { ...limits, windowHours, settlingHours: 0 });
  if (steady.kind === 'stable' || steady.slopePerHour === null) return [];
  return [
    reason(
      'temperature-unsteady',
      `The temperature in the jar moves by ${fixed(Math.abs(steady.slopePerHour), 1)} K an hour, and sensor and salt do not follow alike.`,
      'Wrap the jar, put it into a box, and the box where the temperature stays as it is.',
    ),
  ];
}
