import type { DiaryEntry, Phase } from '../../../server/api/contract/dwelling.ts';
import type { Stretch } from '../time/zone.ts';
import type { PlotMark } from './plot-parts.ts';

/** A diary entry with the number that stands for it on the charts. */
export interface NumberedEntry {
  readonly number: number;
  readonly at: number;
  readonly entry: DiaryEntry;
}

/** Diary entries in order of time, numbered from the first there is, so that a number stays when the charts move. */
export const numbered = (diary: readonly DiaryEntry[]): NumberedEntry[] =>
  diary
    .map((entry) => ({ entry, at: Date.parse(entry.time) }))
    .sort((a, b) => a.at - b.at)
    .map((each, i) => ({ ...each, number: i + 1 }));

/** Where phases begin, with their names, and diary entries by their numbers. */
export const marksOf = (phases: readonly Phase[], diary: readonly NumberedEntry[]): PlotMark[] => [
  ...phases.map(
    (phase): PlotMark => ({
      at: Date.parse(phase.from),
      to: phase.to === null ? Number.MAX_SAFE_INTEGER : Date.parse(phase.to),
      text: phase.name,
      kind: 'boundary',
    }),
  ),
  ...diary.map(({ at, number }): PlotMark => ({ at, text: String(number), kind: 'note' })),
];

/** The stretches of the works. */
export const worksOf = (phases: readonly Phase[], end: number): Stretch[] =>
  phases
    .filter(({ kind }) => kind === 'works')
    .map(({ from, to }) => ({ from: Date.parse(from), to: to === null ? end : Date.parse(to) }));
