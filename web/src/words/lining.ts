import { moreWords } from './spoken.ts';

/** Text of the lining check. It comes with its screen, not with the first. */
export const liningWords = moreWords().lining;
