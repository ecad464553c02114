import type { Notice } from '../../physics/notice.ts';
import type { Quantity } from '../../physics/quantities.ts';
import type { PlaceKind } from '../vocabulary.ts';

export const healthCodes = [
  'silent',
  'late',
  'gaps',
  'flat-lined',
  'power-on-value',
  'spikes',
  'jump',
  'stuck-at-100',
  'humidity-wetted',
  'self-heating',
  'clock-skew',
  'clock-drift',
  'duplicated-identity',
  'swapped-places',
  'unit-mix-up',
  'battery',
] as const;

export type HealthCode = (typeof healthCodes)[number];

/**
 * What a finding does to the numbers. shown: nothing, it stands beside them. not-counted: the readings it names are left
 * out of the hours, which lose coverage. wider: the values may be off by `limit` more.
 */
export type Effect =
  | { readonly kind: 'shown' }
  | { readonly kind: 'not-counted' }
  | { readonly kind: 'wider'; readonly quantity: 'temperature' | 'humidity'; readonly limit: number };

/** Something a sensor's readings say about the sensor: its evidence, and what to do. */
export interface HealthFinding extends Notice<HealthCode> {
  /** UTC milliseconds of the first and the last reading it speaks of */
  readonly from: number;
  readonly to: number;
  /** one plain sentence */
  readonly whatToDo: string;
  readonly effect: Effect;
}

/** Readings of one series in time order. Values hold no NaN. */
export interface Readings {
  /** UTC milliseconds */
  readonly times: Float64Array;
  /** in the unit of the quantity */
  readonly values: Float64Array;
  /** s; null: not known */
  readonly intervalSeconds: number | null;
}

/** Hour means of a place, NaN for missing; entry `i` begins at `start` of the window plus i hours. */
export interface HourMeans {
  readonly placeId: number;
  readonly name: string;
  readonly kind: PlaceKind;
  /** °C */
  readonly temperature: Float64Array;
  /** Pa; of a surface, of the room air it faces */
  readonly vapourPressure: Float64Array;
}

/** Own time stamps against arrival, an entry an hour: the newest reading that came in that hour, and how late it was. */
export interface Arrivals {
  /** UTC milliseconds of arrival */
  readonly times: Float64Array;
  /** arrival minus own time stamp, the least of the hour, ms; below 0: from the future */
  readonly lags: Float64Array;
}

/** One sensor over the window, and what is known around it. */
export interface SensorWindow {
  readonly key: string;
  /** type as its user names it; null: not told */
  readonly model: string | null;
  /** UTC milliseconds; the window, and the time since which it has stood where it stands */
  readonly from: number;
  readonly now: number;
  readonly placedFrom: number | null;
  /** null: it stands nowhere */
  readonly placeId: number | null;
  readonly kind: PlaceKind | null;
  /** other sensors that stand at the same place: an hour of the place is then more than this sensor */
  readonly companions: number;
  /** the room whose air its surface faces; null: none, or no surface */
  readonly facesPlaceId: number | null;
  /** within the window */
  readonly series: Partial<Record<Quantity, Readings>>;
  /** UTC milliseconds of its last reading of all; null: none ever */
  readonly last: number | null;
  /** conflicting values for one instant within the window */
  readonly conflicts: number;
  /** messages in quarantine within the window whose own time was wrong */
  readonly clockAhead: number;
  readonly clockTooEarly: number;
  /** null: its arrivals were not watched */
  readonly arrivals: Arrivals | null;
  /** whole hour at which the hour means begin, UTC milliseconds */
  readonly start: number;
  readonly places: readonly HourMeans[];
}
