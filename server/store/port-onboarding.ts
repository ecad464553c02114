import type { PlaceKind } from '../analysis/vocabulary.ts';

export interface PlaceWanted {
  readonly name: string;
  readonly kind: PlaceKind;
  /** name of the room air it faces, a place of the same home; null: the home's first */
  readonly faces: string | null;
}

/** What is added of a home by the store in one go; the rest of a port's words are the store's own. */
export interface OnboardOutcome {
  readonly dwellingId: number;
  /** how many were added; of what was there already nothing changed */
  readonly dwellings: number;
  readonly places: number;
  readonly sensors: number;
  readonly mappings: number;
  /** user names of the accounts that were made */
  readonly accounts: readonly string[];
}
