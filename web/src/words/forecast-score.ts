import { enForecastScore } from './en-forecast-score.ts';

/** Text of the score of past forecasts. It comes with its screen, not with the first. */
export const forecastScoreWords: typeof enForecastScore = enForecastScore;
