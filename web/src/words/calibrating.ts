import { moreWords } from './spoken.ts';

/** Text of the calibrating screen. It comes with its screen, not with the first. */
export const calibratingWords = moreWords().calibrating;
