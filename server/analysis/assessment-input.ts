import type { AssessmentSettings, SensorUncertainty, Span, Target } from './assessment.ts';
import type { PlaceHours } from './place-hours.ts';
import type { PlaceKind } from './vocabulary.ts';

/** A sensor at a place from a time to a time; `to` is null while it still stands there. */
export interface SensorStay {
  readonly sensor: string;
  readonly from: number;
  readonly to: number | null;
}

/** A place with its hour records and what is known of its sensor. */
export interface AssessedPlace {
  readonly id: string;
  /** as people call it, used in sentences */
  readonly name: string;
  readonly kind: PlaceKind;
  readonly hours: PlaceHours;
  /** placement history; empty where unknown */
  readonly stays: readonly SensorStay[];
  /** UTC milliseconds at which a new calibration began to apply */
  readonly recalibrations: readonly number[];
  /** null: assumed, and said so in the result */
  readonly uncertainty: SensorUncertainty | null;
}

/** Everything an assessment needs; nothing else is looked at. */
export interface AssessmentInput {
  readonly surface: AssessedPlace;
  readonly room: AssessedPlace;
  readonly outdoor: AssessedPlace | null;
  readonly loftAir: AssessedPlace | null;
  readonly loftTimber: AssessedPlace | null;
  readonly control: AssessedPlace | null;
  readonly behind: AssessedPlace | null;
  /** edges of the lining and any other surface to be judged the same way */
  readonly otherSurfaces: readonly AssessedPlace[];
  /** null where there is no such phase (yet): causes can be given from the before phase alone */
  readonly before: Span | null;
  readonly after: Span | null;
  /** spans that count in neither phase */
  readonly leftOut: readonly (Span & { readonly kind: 'works' | 'drying-out' | 'other' })[];
  /** IANA time zone of the dwelling */
  readonly zone: string;
  readonly target: Target;
  /** UTC milliseconds up to which time has passed, or null: the last hour with data */
  readonly now: number | null;
  /** mean air changes per hour by phase where known */
  readonly airChangesPerHour: { readonly before: number | null; readonly after: number | null };
  readonly seed: number;
  /** differences from the default settings */
  readonly settings: Partial<AssessmentSettings>;
}
