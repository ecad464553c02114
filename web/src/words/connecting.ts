import { moreWords } from './spoken.ts';

/** Text of the connecting screen. It comes with its screen, not with the first. */
export const connectingWords = moreWords().connecting;
