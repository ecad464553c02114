import { moreWords } from './spoken.ts';

/** Text about many homes. */
export const portfolioWords = moreWords().portfolio;
