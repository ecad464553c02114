import { moreWords } from './spoken.ts';

/** Text of the comparison. It comes with its screen, not with the first. */
export const comparingWords = moreWords().comparing;
