import type { SensorUncertainty, Span } from '../assessment.ts';
import type { PlaceHours } from '../place-hours.ts';
import type { Night } from './night.ts';

/** What tonight's forecast of one surface rests on. */
export interface ForecastInput {
  /** UTC milliseconds; nothing that lies after it is looked at */
  readonly now: number;
  /** IANA time zone */
  readonly zone: string;
  readonly surface: PlaceHours;
  readonly room: PlaceHours;
  readonly cold: PlaceHours;
  readonly coldIs: 'outdoor' | 'loft';
  /** outdoor forecasts that were received, in any order */
  readonly feeds: readonly OutdoorFeed[];
  /** spans in which the ceiling or the living was another: works and the time before them */
  readonly leftOut: readonly Span[];
  /** what the sensors may be wrong by */
  readonly uncertainty: Readonly<Record<'surface' | 'room' | 'cold', SensorUncertainty>>;
}

/** An outdoor forecast of the hours from `from` on; NaN where it does not say. */
export interface OutdoorFeed {
  /** UTC milliseconds; a forecast is used for what was to come when it had been received, and never before */
  readonly issued: number;
  readonly received: number;
  /** UTC milliseconds, a whole hour */
  readonly from: number;
  /** °C and Pa */
  readonly temperature: Float64Array;
  readonly vapourPressure: Float64Array;
}

export const forecastBases = ['own-outdoor', 'forecast-feed', 'loft-referenced'] as const;

/** Where the cold side of the coming night comes from. */
export type ForecastBasis = (typeof forecastBases)[number];

export const shortReasonCodes = [
  'room-missing',
  'humidity-missing',
  'cold-side-missing',
  'surface-silent',
  'room-silent',
  'cold-side-silent',
  'few-nights',
  'no-response',
] as const;

export type ShortReasonCode = (typeof shortReasonCodes)[number];

/** What is missing for a forecast. */
export interface ShortReason {
  readonly code: ShortReasonCode;
  /** the figures behind it, unit in each name */
  readonly data: Readonly<Record<string, number>>;
}

export interface NightForecast {
  readonly kind: 'forecast';
  readonly night: Night;
  /** that at least one hour record of the night has a dew-point margin at or below 0: 0 to 1 */
  readonly chance: number;
  /** lowest hourly margin of the night, K, with the interval that holds it in 90 of 100 nights */
  readonly minimumMargin: { readonly value: number; readonly low: number; readonly high: number };
  /** UTC milliseconds of the hour in which it is likeliest */
  readonly at: number;
  readonly basis: ForecastBasis;
  readonly working: ForecastWorking;
}

export interface ForecastWorking {
  /** past nights whose errors make the spread */
  readonly pastNights: number;
  /** share of those nights that were condensation nights */
  readonly pastRate: number;
  readonly f: number;
  readonly coldLagHours: number;
  readonly roomLagHours: number;
  /** hours of the night already seen, and their lowest margin, K */
  readonly hoursSeen: number;
  readonly lowestSeenK: number | null;
  /** standard deviation of the past errors of the lowest margin, K */
  readonly pastErrorK: number;
  readonly sensorUncertaintyK: number;
  /** what is expected of the hour `at` */
  readonly expected: {
    readonly surfaceC: number;
    readonly roomC: number;
    readonly coldC: number;
    readonly dewPointC: number;
  };
  /** issue time of the outdoor forecast in use, UTC milliseconds */
  readonly feedIssued: number | null;
  /** issue time of the newest outdoor forecast that is too old or too short to use */
  readonly staleFeedIssued: number | null;
}

export type TonightForecast =
  | NightForecast
  | { readonly kind: 'not-enough'; readonly night: Night; readonly reasons: readonly ShortReason[] };
