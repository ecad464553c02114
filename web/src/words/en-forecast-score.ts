import type { ForecastScores } from '../../../server/api/contract/tonight.ts';

type Standing = ForecastScores['scores'][number]['standing'];

/** Text of how good the forecasts of past nights were, in English. */
export const enForecastScore = {
  title: 'How good the forecasts were',
  lead: 'Each forecast is kept as it was given, and held to what was measured when its night was over.',
  toNotices: 'Back to the notices',
  toTonight: 'Tonight',
  more: 'More about forecasts and notices',
  choices: 'Which forecasts',
  surface: 'Surface',
  all: 'all surfaces',
  madeAt: 'Forecast made at',
  hour: (hour: string) => `${hour}:00`,
  nightsScored: (nights: string, from: string, to: string) => `Forecasts of ${nights}, ${from} to ${to}.`,
  nights: (count: string, one: boolean) => (one ? `${count} night` : `${count} nights`),
  caught: (wet: string, hits: string) => `Of ${wet} with condensation it warned of ${hits}.`,
  noneWet: 'No night had condensation, so there was nothing to warn of.',
  cameTrue: (warnings: string, one: boolean, hits: string) =>
    `Of ${warnings} ${one ? 'warning' : 'warnings'} ${hits} came true.`,
  noWarnings: 'It never warned.',
  warning: (share: string) => `A warning is a chance of ${share} or more.`,
  together: 'A night counts once for each surface.',
  standings: {
    none: '',
    'few-nights': 'These are too few nights to judge by. Look again later in the winter.',
    'few-condensation-nights': 'So few nights had condensation that this says little about how well it warns of them.',
    enough: '',
  } satisfies Record<Standing, string>,
  none: 'No forecast of these is over yet.',
  noneNext:
    'Forecasts are kept at 12:00 and 18:00 of each day while the program runs, once ten past nights are known. The first is scored the morning after.',

  reliability: 'What was said, and how often it happened',
  reliabilityLead:
    'Nights are put together by the chance they were given. Where a chance of 30 % is said, 3 of 10 such nights should turn out wet: points on the slanting line are right, points above it came oftener than said, points below it more seldom. Bars: where the true share may lie, given so few nights.',
  drawing: 'Said chance against how often it happened; the table below holds the same figures.',
  said: 'chance that was said, %',
  happened: 'how often it happened, %',
  asSaid: 'as said',
  columns: {
    said: 'Chance said',
    nights: 'Nights',
    mean: 'Said on average',
    happened: 'Happened',
    range: 'May lie in',
  },
  reliabilityTable: 'Chance that was said, and how often it happened',

  compared: 'Is it better than a simple guess?',
  lastNight: 'Against “the same as last night”',
  season: 'Against “as often as in this season”',
  better: (share: string) => `Its errors were ${share} smaller.`,
  worse: (share: string) => `Its errors were ${share} larger: the simple guess did better.`,
  same: 'It did as well as the simple guess and no better.',
  unknown: 'Cannot be said: the simple guess was never wrong, or no nights follow each other.',
  lastNightExplain: 'The guess: if last night was wet this one will be too, otherwise not.',
  seasonExplain: (wet: string, nights: string) =>
    `The guess: the same chance every night, ${wet} in ${nights}, which nobody could know before the season was over.`,
  working: 'How was this worked out?',
  brier: (score: string) =>
    `The error of a forecast is the square of the chance it gave (0 to 1) less what happened (1 for condensation, 0 for none). Their mean is the Brier score, here ${score}: 0 is perfect, always saying one half gives 0.25. “Smaller” is 1 less this score over that of the guess (Murphy, 1988). The bars are 95 % intervals of Wilson (1927); nights that follow each other are alike, so they are somewhat too short.`,

  each: 'By surface and by hour',
  eachColumns: {
    surface: 'Surface',
    hour: 'Made at',
    nights: 'Nights',
    warned: 'Condensation nights warned of',
    cameTrue: 'Warnings that came true',
  },
  ofAll: (part: string, whole: string) => `${part} of ${whole}`,
  oneRange: (text: string, range: string) => `${text} (${range})`,

  last: 'The last nights',
  lastColumns: { night: 'Night of', said: 'Chance said', expected: 'Lowest margin expected', came: 'What came' },
  came: {
    wet: (margin: string) => `condensation, lowest margin ${margin}`,
    dry: (margin: string) => `dry, lowest margin ${margin}`,
  },
  notKnown: 'not over, or too little was measured',
  under: (share: string) => `under ${share}`,
  over: (share: string) => `over ${share}`,
  morePast: 'Show more nights',
};
