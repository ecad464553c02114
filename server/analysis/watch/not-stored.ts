import type { CasesOf } from './watch-case.ts';
import type { WatchEvent, WatchSubject } from './watch-event.ts';

/** Why readings could not be kept: what the store said. */
export const storingFaults = ['full', 'read-only', 'busy', 'unreachable', 'failed'] as const;
export type StoringFault = (typeof storingFaults)[number];

/** A time in which readings could not be kept, UTC milliseconds; null: it goes on. */
export interface StoringTrouble {
  readonly fault: StoringFault;
  readonly from: number;
  readonly to: number | null;
}

/** Other programs may hold the database for a moment; that is no event. */
const PASSING_MS = 60_000;

const subject: WatchSubject = { rule: 'not-stored', placeId: null, sensorId: null, detail: '' };

/** Hours say nothing of it: the program notices it itself, in the moment. */
export const notStored: CasesOf = () => [];

/** Events of what the program noticed while it ran. */
export function storingEvents(troubles: readonly StoringTrouble[], now: number): WatchEvent[] {
  return troubles
    .filter(({ fault, from, to }) => fault === 'full' || (to ?? now) - from >= PASSING_MS)
    .map(({ fault, from, to }) => ({
      ...subject,
      severity: 'warning',
      begunAt: from,
      knownAt: from,
      endedAt: to,
      endKnownAt: to,
      endReason: to === null ? null : 'over',
      chance: null,
      data: { fault },
    }));
}
