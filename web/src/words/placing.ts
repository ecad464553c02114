import { enPlacing } from './en-placing.ts';

/** Text of the placing guide. It comes with its screen, not with the first. */
export const placingWords: typeof enPlacing = enPlacing;
