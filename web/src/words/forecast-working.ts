import { moreWords } from './spoken.ts';

/** How a forecast was worked out. It comes with its screen, not with the first. */
export const forecastWorkingWords = moreWords().forecastWorking;
