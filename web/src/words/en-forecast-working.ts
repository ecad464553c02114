/** How tonight's forecast of a surface was worked out, in English. */
export const enForecastWorking = {
  chanceOf: (surface: string) => `Condensation tonight, ${surface}`,
  lowestOf: (surface: string) => `Lowest margin tonight, ${surface}`,
  chance:
    'share of the courses in which at least one hour of the night has a margin at or under 0. A course is tonight as expected, with the errors added that the same forecast made on one past night; each is blurred by what is left of them and by what the sensors may be wrong by',
  lowest:
    'middle of the lowest margins of the courses. A course is tonight as expected, surface less dew point hour by hour, with the errors added that the same forecast made on one past night. Surface = cold + intercept + f (room - cold), both delayed',
  names: {
    pastNights: 'past nights whose errors are added',
    pastRate: 'of these, condensation nights',
    f: 'f of the recent nights',
    coldLag: 'delay of the cold side',
    roomLag: 'delay of the room',
    hoursSeen: 'hours of the night that are over',
    lowestSeen: 'lowest margin in them',
    error: 'standard deviation of past errors of the lowest margin',
    sensors: 'standard uncertainty of the margin by the sensors',
    surface: 'expected at that hour: surface',
    room: 'expected at that hour: room',
    cold: 'expected at that hour: cold side',
    dewPoint: 'expected at that hour: dew point of the room',
    basis: 'cold side of tonight',
    feed: 'outdoor forecast of',
  },
  chanceUncertain:
    'It is a chance already. How often such chances came true on past nights stands under the score of past forecasts.',
  lowestUncertain:
    'The interval holds nine in ten of the courses: past errors and sensors are in it, a night unlike any before is not.',
  source:
    'the method is ours; errors of whole past nights laid over a forecast: Efron & Tibshirani (1993), chapter 9; f: ISO 13788:2012, 3.1.2; dew point: ISO 13788:2012, Annex E',
};
