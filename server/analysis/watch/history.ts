import type { ErrorPart } from '../../physics/uncertainty.ts';
import type { HealthFinding } from '../health/finding.ts';
import type { PlaceHours } from '../place-hours.ts';
import type { PhaseKind, PlaceKind } from '../vocabulary.ts';

/** What a place's sensors may be wrong by. */
export interface SensorDoubt {
  readonly temperature: readonly ErrorPart[];
  readonly humidity: readonly ErrorPart[];
}

/** A place over the hours of a history. */
export interface WatchedPlace {
  readonly id: number;
  readonly name: string;
  readonly kind: PlaceKind;
  /** the place whose air decides what settles here: of a surface the room it faces, else the place itself; null: none */
  readonly airPlaceId: number | null;
  readonly hours: Omit<PlaceHours, 'start'>;
  /** mould index at the end of each hour, from a clean surface at the first hour ever; null: not a place for it */
  readonly mouldIndex: Float64Array | null;
  readonly doubt: SensorDoubt;
  /** of loft air: mean vapour excess over outdoors in the before phase, Pa, and the end of that phase; null: none */
  readonly before: { readonly excessPa: number; readonly until: number } | null;
}

/** What one look through a sensor's readings found. */
export interface SensorFinding {
  readonly sensorId: number;
  readonly sensorName: string;
  readonly placeId: number | null;
  readonly finding: HealthFinding;
}

/** What a forecast of the coming night says of a surface. */
export interface NightAhead {
  readonly placeId: number;
  /** local date on which the night begins, and its span in UTC milliseconds */
  readonly date: string;
  readonly from: number;
  readonly to: number;
  /** of at least one condensation hour, 0 to 1 */
  readonly chance: number;
  /** lowest dew-point margin, K, with the interval that holds it in 90 of 100 nights */
  readonly margin: { readonly value: number; readonly low: number; readonly high: number };
  /** UTC milliseconds of the likeliest hour */
  readonly likeliestAt: number;
}

/** All that the rules look at: hour `i` begins at `start` plus i hours. */
export interface WatchHistory {
  /** UTC milliseconds, a whole hour */
  readonly start: number;
  readonly hours: number;
  /** IANA time zone */
  readonly zone: string;
  readonly places: readonly WatchedPlace[];
  readonly phases: readonly { readonly kind: PhaseKind; readonly from: number; readonly to: number | null }[];
  /** 1 where any sensor was heard */
  readonly heard: Uint8Array;
  /** whether anything was heard before the first hour */
  readonly heardBefore: boolean;
  /** findings at the end of the hours at which readings were looked through, by hour */
  readonly findings: ReadonlyMap<number, readonly SensorFinding[]>;
  /** forecasts made at the end of hours, by hour; none where that is not done */
  readonly nights: ReadonlyMap<number, readonly NightAhead[]>;
}

/** How much more vapour a place's air holds in an hour than outdoors, Pa; null where either is not known. */
export function excessAt(
  { places }: Pick<WatchHistory, 'places'>,
  air: WatchedPlace | undefined,
  i: number,
): number | null {
  const outdoor = places.find(({ kind }) => kind === 'outdoor-air');
  const excess = (air?.hours.vapourPressure[i] ?? Number.NaN) - (outdoor?.hours.vapourPressure[i] ?? Number.NaN);
  return Number.isNaN(excess) ? null : excess;
}
