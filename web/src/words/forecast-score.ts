import { moreWords } from './spoken.ts';

/** Text of the score of past forecasts. It comes with its screen, not with the first. */
export const forecastScoreWords = moreWords().forecastScore;
