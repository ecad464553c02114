import { enComparing } from './en-comparing.ts';

/** Text of the comparison. It comes with its screen, not with the first. */
export const comparingWords: typeof enComparing = enComparing;
