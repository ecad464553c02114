import type { CalibrationRecord, DiaryEntry, Dwelling, Phase, Place, Placement, Sensor, Series } from './port.ts';

/** A dwelling and all that is known of it but its readings, with the ids it has. */
export interface DwellingContents {
  readonly dwelling: Dwelling;
  readonly places: readonly Place[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly placements: readonly Placement[];
  readonly phases: readonly Phase[];
  readonly calibrations: readonly CalibrationRecord[];
  readonly diary: readonly DiaryEntry[];
}

export interface RestoreStore {
  /**
   * Puts a dwelling into a store that has none, under the ids it had, so that what was worked out elsewhere can be
   * worked out again. All or nothing.
   */
  restore(contents: DwellingContents): Promise<void>;
}
