import type { Phase } from '../../../server/api/contract/dwelling.ts';
import { dayOfWinter, type Stretch } from '../time/zone.ts';
import { type NumberedEntry, worksOf } from './marks.ts';
import type { PlotMark } from './plot-parts.ts';

/** The story on an axis that all winters share: each thing on the day it had in its own winter, days since 1 October. */
export interface WinterStory {
  readonly marks: readonly PlotMark[];
  readonly works: readonly Stretch[];
}

/** @param end UTC ms at which works that still go on are drawn to end */
export const winterStory = (
  zone: string,
  phases: readonly Phase[],
  diary: readonly NumberedEntry[],
  end: number,
): WinterStory => ({
  marks: [
    ...phases.map(
      (phase): PlotMark => ({ at: dayOfWinter(zone, Date.parse(phase.from)), text: phase.name, kind: 'boundary' }),
    ),
    ...diary.map(({ at, number }): PlotMark => ({ at: dayOfWinter(zone, at), text: String(number), kind: 'note' })),
  ],
  works: worksOf(phases, end).map(({ from, to }) => ({
    from: dayOfWinter(zone, from),
    to: dayOfWinter(zone, to, from),
  })),
});
