import type { PlaceKind } from './vocabulary.ts';

/**
 * The result of a before-and-after assessment, plain data that survives JSON unchanged. Missing is `null`, never NaN.
 * Times are UTC milliseconds; temperatures °C; temperature differences K; humidity %; vapour pressure Pa.
 *
 * The temperature factor is that of ISO 13788:2012, 3.1.2: f = (surface - cold side) / (room - cold side).
 */

/** A figure with its 95 % interval; `low <= value <= high`, all finite. */
export interface Estimate {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** A span of time, `from` included, `to` excluded. */
export interface Span {
  readonly from: number;
  readonly to: number;
}

/** What makes evidence too thin, or thinner than it could be. */
export type FindingCode =
  | 'before-missing'
  | 'after-missing'
  | 'phase-reversed'
  | 'phase-empty'
  | 'phase-in-future'
  | 'phases-overlap'
  | 'after-precedes-before'
  | 'setting-out-of-range'
  | 'zone-unknown'
  | 'zone-doubtful'
  | 'surface-missing'
  | 'room-missing'
  | 'outdoor-missing'
  | 'humidity-missing'
  | 'cold-side-is-loft'
  | 'too-few-days'
  | 'low-coverage'
  | 'small-temperature-difference'
  | 'not-converged'
  | 'interval-too-wide'
  | 'estimators-disagree'
  | 'conditions-differ'
  | 'sensor-moved'
  | 'sensor-recalibrated'
  | 'works-inside-phase'
  | 'drying-out-inside-phase'
  | 'control-missing'
  | 'control-too-thin'
  | 'control-disagrees'
  | 'model-fits-poorly'
  | 'model-extrapolates'
  | 'surface-warmer-than-room'
  | 'surface-outside-room-and-cold-side'
  | 'constant-series'
  | 'same-sensor-twice'
  | 'nothing-to-explain'
  | 'uncertainty-assumed'
  | 'loft-not-watched'
  | 'behind-lining-not-watched';

/**
 * blocks: no verdict can be given until mended. weakens: the verdict stands but is less sure or less complete.
 * note: worth knowing, changes nothing.
 */
export type FindingSeverity = 'blocks' | 'weakens' | 'note';

/** One reason about the evidence, with its figures, what would mend it and, where that can be said, by when. */
export interface Finding {
  readonly code: FindingCode;
  readonly severity: FindingSeverity;
  readonly phase: 'before' | 'after' | null;
  /** name of the place it is about */
  readonly place: string | null;
  /** one plain sentence */
  readonly message: string;
  /** the figures behind it, unit in each name */
  readonly data: Readonly<Record<string, number | string | null>>;
  /** what would mend it, one plain sentence */
  readonly mend: string | null;
  /** UTC milliseconds by which it would be mended if the weather stays as it is */
  readonly by: number | null;
}

export interface Sufficiency {
  /** true when nothing blocks */
  readonly enough: boolean;
  readonly findings: readonly Finding[];
}

/** f worked out in two ways that fail differently, and how far apart they are. */
export interface FactorWorking {
  /** sum of (surface - cold) over sum of (room - cold), night hours, cold side and room delayed by the fitted lag */
  readonly ratio: Estimate;
  /** slope of (surface - cold) on (room - cold) with an intercept: a constant sensor offset does not move it */
  readonly slope: Estimate | null;
  /** slope less ratio; its interval is what offsets and chance allow */
  readonly disagreement: Estimate | null;
  /** standard uncertainty of the ratio from chance (resampled days) and from sensor offsets, no unit */
  readonly randomUncertainty: number;
  readonly systematicUncertainty: number;
  /** fitted time constants with which the surface follows the cold side and the room, h */
  readonly coldLagHours: number;
  readonly roomLagHours: number;
  /** night hours and nights used; mean room - cold difference over them, K */
  readonly hours: number;
  readonly nights: number;
  readonly meanDifferenceK: number;
  /** mean surface - cold difference over the same hours, K */
  readonly meanSurfaceDifferenceK: number;
}

/** f over time, for the convergence test of ISO 9869-1:2014, 7.1 applied to f (the standard is for heat flow). */
export interface Convergence {
  readonly days: number;
  /** change of f against the figure one day earlier, as a share */
  readonly againstDayEarlier: number | null;
  /** difference of f from the first and the last two thirds of the days, as a share */
  readonly firstAgainstLast: number | null;
  readonly converged: boolean;
}

interface PhaseResult {
  readonly from: number;
  readonly to: number;
  /** temperature factor with its 95 % interval, or null with the codes of the findings that say why */
  readonly f: Estimate | null;
  readonly missingBecause: readonly FindingCode[];
  readonly working: FactorWorking | null;
  readonly convergence: Convergence | null;
  /** dew-point margin over all valid hours, K */
  readonly meanMarginK: number | null;
  readonly lowestMarginK: number | null;
}

/** Before the works. A different type from {@link AfterResult}, so that the two cannot be swapped unseen. */
export interface BeforeResult extends PhaseResult {
  readonly phase: 'before';
}

export interface AfterResult extends PhaseResult {
  readonly phase: 'after';
}

/** The same count or index, measured in both phases and expected of the untreated surface in the after phase. */
export interface Compared {
  readonly before: Estimate | null;
  readonly after: Estimate | null;
  /** what the untreated surface would have had with the after phase's own weather and living */
  readonly expectedAfterWithoutWorks: Estimate | null;
  /** expected less measured */
  readonly avoided: Estimate | null;
}

/** Counts are over the hours with data: compare `validHours` in {@link Conditions}. */
export interface RiskHours extends Compared {
  /** e.g. "surface humidity at or over 80 % with the surface above 0 °C" */
  readonly criterion: string;
  readonly limitPct: number;
}

export interface CondensationNights extends Compared {
  /** local hours of the night: begins at, ends at */
  readonly nightFrom: number;
  readonly nightTo: number;
}

export interface MouldIndexCompared extends Compared {
  readonly sensitivity: 'very-sensitive' | 'sensitive' | 'medium-resistant' | 'resistant';
  /** highest index in the phase, started from 0 */
  readonly statistic: 'highest';
}

/** How people lived and what the weather was, so that anyone can see what else changed. */
export interface Conditions {
  readonly outdoorMeanC: number | null;
  readonly roomMeanC: number | null;
  readonly roomMeanHumidityPct: number | null;
  readonly outdoorMeanVapourPressurePa: number | null;
  readonly roomMeanVapourPressurePa: number | null;
  readonly vapourExcessMeanPa: number | null;
  /** ISO 13788:2012, Annex A */
  readonly humidityClass: 1 | 2 | 3 | 4 | 5 | null;
  /** air changes per hour where known */
  readonly airChangesPerHour: number | null;
  /** hours with surface, room and cold side known; hours of the phase; the one over the other, % */
  readonly validHours: number;
  readonly spanHours: number;
  readonly coveragePct: number;
}

export interface ConditionsCompared {
  readonly before: Conditions | null;
  readonly after: Conditions | null;
  /** share of the after phase's hours whose room - cold difference also occurred before, 0 to 1 */
  readonly overlap: number | null;
  /** what that share was counted from */
  readonly overlapOf: OverlapCount | null;
}

export interface OverlapCount {
  /** room - cold differences that occurred before: the middle 96 % of them, K */
  readonly fromK: number;
  readonly toK: number;
  /** hours after within them, of all hours after */
  readonly inside: number;
  readonly hours: number;
}

/** The response model of the untreated surface, fitted on the before phase. */
export interface ResponseFit {
  /** surface = intercept + f room(lagged) + (1 - f) cold(lagged) + profile(local hour) */
  readonly f: number;
  readonly interceptK: number;
  readonly coldLagHours: number;
  readonly roomLagHours: number;
  readonly residualK: number;
  readonly hours: number;
  /** of the drop room - surface, % (ASHRAE Guideline 14: hourly 10 and 30) */
  readonly nmbePct: number;
  readonly cvRmsePct: number;
  readonly nmbeLimitPct: number;
  readonly cvRmseLimitPct: number;
}

/** Difference in differences of f: (treated after - before) - (control after - before). */
export type Control =
  | { readonly kind: 'missing' }
  | { readonly kind: 'too-thin'; readonly place: string }
  | {
      readonly kind: 'agrees' | 'disagrees';
      readonly place: string;
      /** whether the control surface shows no change of its own */
      readonly still: boolean;
      readonly treatedChange: Estimate;
      readonly controlChange: Estimate;
      readonly differenceInDifferences: Estimate;
      readonly controlBefore: Estimate;
      readonly controlAfter: Estimate;
      readonly workingBefore: FactorWorking;
      readonly workingAfter: FactorWorking;
      /** one plain sentence */
      readonly statement: string;
    };

/**
 * Shares of the before phase's risk hours, 0 to 1 (Shapley values over the three): it indicates, it does not blame.
 * Together they make up what would go if all three were put right; the rest is `remaining`.
 */
export interface Causes {
  readonly fabric: Estimate;
  readonly moisture: Estimate;
  readonly heating: Estimate;
  readonly remaining: Estimate;
  /** the largest share, or null where the largest two cannot be told apart */
  readonly leader: 'fabric' | 'moisture' | 'heating' | null;
  readonly riskHours: number;
  /** what "put right" means */
  readonly targetF: number;
  readonly humidityClassLimit: 1 | 2 | 3 | 4;
  readonly heatedToC: number;
  readonly statement: string;
}

export type VerdictKind = 'target-met' | 'better-short-of-target' | 'no-change-shown' | 'worse' | 'not-enough-evidence';

/** What can be said of a place that trouble may have moved to. */
export const movedCodes = [
  'surface-few',
  'surface-alone',
  'surface-compared',
  'hidden-few',
  'hidden-grows',
  'hidden-waits',
  'hidden-over',
  'hidden-fine',
  'loft-few',
  'loft-wetter',
  'loft-drier',
  'loft-as-before',
  'timber-few',
  'timber-wetter',
  'timber-alone',
  'timber-as-before',
] as const;

export type MovedCode = (typeof movedCodes)[number];

/** Whether trouble moved to another place: an edge, behind the lining, the loft. */
export interface MovedTrouble {
  readonly place: string;
  readonly placeKind: PlaceKind;
  readonly kind: VerdictKind | 'no-worse';
  /** which statement it is, and what is in it beside the figures below; the unit in each name */
  readonly code: MovedCode;
  readonly data: Readonly<Record<string, number | string>>;
  /** two plain sentences at most */
  readonly statement: string;
  readonly figures: readonly MovedFigure[];
  /** UTC milliseconds by which there would be enough, where there is not */
  readonly by: number | null;
}

export interface MovedFigure {
  /** e.g. "vapour excess over outdoors" */
  readonly name: string;
  readonly unit: string;
  readonly before: Estimate | null;
  readonly after: Estimate | null;
  readonly limit: number | null;
  /** how either side was worked out; null where it is not known */
  readonly workingBefore: Worked | null;
  readonly workingAfter: Worked | null;
}

export interface Verdict {
  /** of everything watched: a cured surface with a wetter loft is not "target-met" but "worse" */
  readonly kind: VerdictKind;
  /** of the treated surface alone */
  readonly surfaceKind: VerdictKind;
  /** two plain sentences */
  readonly statement: string;
  /** paths of the figures the statement rests on, as in {@link Working} */
  readonly statementFigures: readonly string[];
  /** why, most important first, plain sentences */
  readonly reasons: readonly string[];
  /** for each reason, what it says; its figures are in this assessment */
  readonly reasonsAbout: readonly ReasonAbout[];
  /** for each reason, the paths of the figures it rests on */
  readonly reasonFigures: readonly (readonly string[])[];
}

/** What a reason of the verdict is about; `index` counts in `movedTrouble` and in `sufficiency.findings`. */
export type ReasonAbout =
  | { readonly kind: 'change' | 'target' | 'met-before' | 'avoided' | 'control' }
  | { readonly kind: 'moved' | 'finding'; readonly index: number };

export interface Target {
  /** temperature factor to be met */
  readonly f: number;
  /** e.g. "BRE IP 1/06, dwellings" */
  readonly source: string;
}

/**
 * Cumulative risk hours day by day, for the chart; the sum begins anew each 1 October. Columns of equal length; `day` is the
 * UTC midnight of the local calendar date.
 */
export interface CumulativeRiskHours {
  readonly before: { readonly day: readonly number[]; readonly measured: readonly number[] } | null;
  readonly after: {
    readonly day: readonly number[];
    readonly measured: readonly number[];
    readonly expected: readonly number[] | null;
    readonly expectedLow: readonly number[] | null;
    readonly expectedHigh: readonly number[] | null;
  } | null;
}

/** Mould index at the end of each local day, for the chart: of the surface as it was measured, and as it would have been. */
export interface MouldIndexByDay {
  readonly before: { readonly day: readonly number[]; readonly measured: readonly number[] } | null;
  readonly after: {
    readonly day: readonly number[];
    readonly measured: readonly number[];
    readonly expected: readonly number[] | null;
    readonly expectedLow: readonly number[] | null;
    readonly expectedHigh: readonly number[] | null;
  } | null;
}

export interface WorkingInput {
  readonly name: string;
  readonly value: number | string | null;
  readonly unit: string;
}

/** One answer to "how was this worked out?", without saying of what. */
export interface Worked {
  readonly formula: string;
  readonly inputs: readonly WorkingInput[];
  /** where the interval beside the figure comes from; where there is none, why; one plain sentence */
  readonly uncertainty: string;
  readonly source: string;
}

export interface Working extends Worked {
  /** path of the figure in this result, e.g. "before.f"; of a group, the part of the path that its figures share */
  readonly figure: string;
}

/** The part of a sensor's offset that it shares with every sensor corrected against the same reference (k = 1). */
export interface SharedError {
  /** names the reference */
  readonly source: string;
  /** K or %, no larger than the offset it is a part of */
  readonly uncertainty: number;
}

/** What was assumed of one place's sensor; all are standard uncertainties (k = 1). */
export interface SensorUncertainty {
  /** constant offset of the temperature, K, and of the humidity, % */
  readonly temperatureOffsetK: number;
  readonly humidityOffsetPct: number;
  /** change of that offset between the two phases (drift, re-bonding) */
  readonly temperatureDriftK: number;
  readonly humidityDriftPct: number;
  /** left out: the offset is this place's own alone */
  readonly sharedTemperature?: SharedError;
  readonly sharedHumidity?: SharedError;
  /** e.g. "calibrated 2025-10-02, ice point" or "assumed: typical data sheet" */
  readonly source: string;
}

/** Every threshold and choice, passed in and echoed. */
export interface AssessmentSettings {
  /** local hours between which it is night, for f and for condensation nights */
  readonly nightFrom: number;
  readonly nightTo: number;
  /** hours after nightfall left out of f, in which the roof still gives back the sun's heat */
  readonly settleHours: number;
  readonly riskLimitPct: number;
  readonly resamples: number;
  /** resamples for the mould index, which costs more */
  readonly mouldResamples: number;
  /** length of the blocks of whole days that are resampled */
  readonly blockDays: number;
  /** whole days with data that a phase needs (ISO 9869-1 asks for three) */
  readonly fewestDays: number;
  readonly lowestCoveragePct: number;
  /** below this mean room - cold difference the evidence is called weak, K */
  readonly usefulDifferenceK: number;
  /** below it f is not given a verdict: other influences are as large, K */
  readonly leastDifferenceK: number;
  /** half width of the 95 % interval of f above which no verdict is given */
  readonly widestHalfInterval: number;
  /** share within which f must have settled (ISO 9869-1: 0.05) */
  readonly convergenceShare: number;
  /** a change of f below this is of no use to anyone and is called no change */
  readonly smallestChange: number;
  /** chance of calling a change better (or worse) where there is none, one-sided */
  readonly falseAlarm: number;
  /**
   * standard uncertainty of a night's surface temperature, K, from delays fitted imperfectly and heat left from the day;
   * divided by the room - cold difference it is one of f. Found on simulated roofs
   */
  readonly methodUncertaintyK: number;
  /** the same for heat of the sun held overnight, K for each hour that the element lags the cold side by more than two */
  readonly storedHeatK: number;
  readonly humidityClassLimit: 1 | 2 | 3 | 4;
  readonly heatedToC: number;
  readonly mouldSensitivity: MouldIndexCompared['sensitivity'];
  /** change of loft vapour excess that counts, Pa; timber moisture that must not be passed, %; mould index likewise */
  readonly smallestExcessChangePa: number;
  readonly timberLimitPct: number;
  readonly mouldLimit: number;
}

export interface Assessment {
  readonly before: BeforeResult | null;
  readonly after: AfterResult | null;
  /** what f is measured against; only "outdoor-air" may be compared with a published minimum */
  readonly coldSide: 'outdoor-air' | 'loft-air';
  /** after less before */
  readonly change: Estimate | null;
  readonly riskHours: RiskHours;
  readonly condensationNights: CondensationNights;
  readonly mouldIndex: MouldIndexCompared;
  readonly cumulativeRiskHours: CumulativeRiskHours;
  readonly mouldIndexByDay: MouldIndexByDay;
  readonly conditions: ConditionsCompared;
  readonly response: ResponseFit | null;
  readonly control: Control;
  readonly causes: Causes | null;
  readonly movedTrouble: readonly MovedTrouble[];
  readonly sufficiency: Sufficiency;
  readonly verdict: Verdict;
  readonly target: Target;
  readonly uncertainties: readonly {
    readonly place: string;
    readonly placeKind: PlaceKind;
    readonly sensor: SensorUncertainty;
  }[];
  readonly zone: string;
  readonly seed: number;
  readonly settings: AssessmentSettings;
  readonly working: readonly Working[];
}
