import { moreWords } from './spoken.ts';

/** Text about plain exports. It comes with its screen, not with the first. */
export const exportingWords = moreWords().exporting;
