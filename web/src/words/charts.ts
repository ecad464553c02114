import { moreWords } from './spoken.ts';

/** Text of the charts. It comes with them, not with the first screen. */
export const chartWords = moreWords().charts;
