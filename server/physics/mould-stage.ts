import { inRange } from './range.ts';

/** What a whole mould index means, in plain words. */
export interface MouldStage {
  readonly stage: 0 | 1 | 2 | 3 | 4 | 5 | 6;
  readonly words: string;
  /** whether a person sees it without a microscope */
  readonly visible: boolean;
}

/** @source Hukka & Viitanen (1999), table of the mould index; in our words */
export const mouldStages: readonly MouldStage[] = Object.freeze([
  { stage: 0, words: 'no growth', visible: false },
  { stage: 1, words: 'first traces, seen only under a microscope', visible: false },
  { stage: 2, words: 'under a tenth covered, seen only under a microscope', visible: false },
  { stage: 3, words: 'mould can be seen, under a tenth covered', visible: true },
  { stage: 4, words: 'a tenth to a half covered with mould', visible: true },
  { stage: 5, words: 'more than half covered with mould', visible: true },
  { stage: 6, words: 'covered with mould all over', visible: true },
]);

/**
 * The stage a mould index has reached: the last whole number it has passed.
 *
 * @param index 0 to 6
 * @throws RangeError outside that range
 */
export function mouldStage(index: number): MouldStage {
  return mouldStages[Math.floor(inRange('index', index, '', 0, 6))]!;
}
