import { HOUR_MS } from '../analysis/vocabulary.ts';

/** Counts what changed in a dwelling, so that a result worked out before can be told from one that still holds. */
export interface Revisions {
  /** Hour records from a time on were rebuilt. The hour that still runs changes all the time and is not counted. */
  hoursRebuilt(dwellingId: number, from: number): void;
  storyChanged(dwellingId: number): void;
  /** Any dwelling may have changed unseen. */
  anyChanged(): void;
  of(dwellingId: number): number;
}

export function createRevisions(
  clock: () => number,
  onStory: (dwellingId: number) => void = () => undefined,
): Revisions {
  const counts = new Map<number, number>();
  let unseen = 0;
  const raise = (dwellingId: number): void => {
    counts.set(dwellingId, (counts.get(dwellingId) ?? 0) + 1);
  };
  return {
    hoursRebuilt(dwellingId, from) {
      if (from < Math.floor(clock() / HOUR_MS) * HOUR_MS) raise(dwellingId);
    },
    storyChanged(dwellingId) {
      raise(dwellingId);
      onStory(dwellingId);
    },
    anyChanged() {
      unseen++;
    },
    of: (dwellingId) => unseen + (counts.get(dwellingId) ?? 0),
  };
}
