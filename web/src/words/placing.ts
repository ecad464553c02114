import { moreWords } from './spoken.ts';

/** Text of the placing guide. It comes with its screen, not with the first. */
export const placingWords = moreWords().placing;
