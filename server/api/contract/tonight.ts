import { z } from 'zod';
import { standings } from '../../analysis/forecast/score.ts';
import { forecastBases, shortReasonCodes } from '../../analysis/forecast/tonight-forecast.ts';
import { instant, placeId } from './values.ts';

const chance = z.number().min(0).max(1);

export const night = z
  .object({
    date: z.iso.date().meta({ description: 'local date on which it begins' }),
    from: instant,
    to: instant,
  })
  .meta({ id: 'Night', description: 'a local night, 18:00 to 08:00' });

const surface = { placeId, name: z.string() };

export const forecast = z
  .object({
    ...surface,
    kind: z.literal('forecast'),
    chance: chance.meta({ description: 'that at least one hour of the night has a dew-point margin at or below 0' }),
    minimumMargin: z
      .object({ value: z.number(), low: z.number(), high: z.number() })
      .meta({ description: 'lowest hourly dew-point margin, K: middle, and the ends of the 90 % interval' }),
    at: instant.meta({ description: 'beginning of the hour in which the lowest is likeliest' }),
    basis: z.enum(forecastBases).meta({
      description:
        'own-outdoor: the outdoor sensor’s recent pattern; forecast-feed: an outdoor forecast; loft-referenced: no outdoor sensor is heard, the loft stands for the cold side',
    }),
    working: z
      .object({
        pastNights: z.int().meta({ description: 'nights whose errors make the spread' }),
        pastRate: z.number().meta({ description: 'share of them that were condensation nights' }),
        f: z.number().meta({ description: 'temperature factor fitted to the recent nights' }),
        coldLagHours: z.number(),
        roomLagHours: z.number(),
        hoursSeen: z.int().meta({ description: 'hours of the night already over' }),
        lowestSeenK: z.number().nullable(),
        pastErrorK: z.number().meta({ description: 'standard deviation of the past errors of the lowest margin, K' }),
        sensorUncertaintyK: z.number(),
        expected: z
          .object({ surfaceC: z.number(), roomC: z.number(), coldC: z.number(), dewPointC: z.number() })
          .meta({ description: 'what is expected of the hour at which the lowest is likeliest' }),
        feedIssued: instant.nullable().meta({ description: 'of the outdoor forecast in use' }),
        staleFeedIssued: instant
          .nullable()
          .meta({ description: 'of the newest outdoor forecast that was too old or too short to use' }),
      })
      .meta({ description: 'how it was worked out' }),
  })
  .meta({ id: 'NightForecast' });

export const notEnoughForForecast = z
  .object({
    ...surface,
    kind: z.literal('not-enough'),
    reasons: z.array(
      z.object({
        code: z.enum(shortReasonCodes),
        message: z.string().meta({ description: 'what is missing, and what to do' }),
        data: z.record(z.string(), z.number()),
      }),
    ),
  })
  .meta({ id: 'NotEnoughForForecast' });

const shareRange = z
  .object({ low: chance, high: chance })
  .nullable()
  .meta({ description: '95 % interval, Wilson (1927); null: nothing was counted' });

export const reliabilityBin = z
  .object({
    from: chance,
    to: chance,
    nights: z.int(),
    meanChance: z.number().nullable(),
    rate: z.number().nullable().meta({ description: 'share of them that were condensation nights' }),
    rateRange: shareRange,
  })
  .meta({ id: 'ReliabilityBin' });

export const forecastScore = z
  .object({
    hour: z.int().meta({ description: 'local hour at which the forecasts were made' }),
    nights: z.int(),
    condensationNights: z.int(),
    standing: z.enum(standings).meta({ description: 'whether so many nights are enough to judge by' }),
    hits: z.int().meta({ description: 'condensation nights that were warned of: warnings that came true' }),
    brier: z
      .number()
      .nullable()
      .meta({ description: 'mean square of chance less outcome; 0 is best; Brier (1950), halved' }),
    skillAgainstLastNight: z.number().nullable().meta({
      description: '1 - Brier score over that of “same as last night”; null: no such nights, or it was perfect',
    }),
    skillAgainstSeason: z
      .number()
      .nullable()
      .meta({ description: '1 - Brier score over that of always saying the rate of these nights' }),
    recall: z.number().nullable().meta({ description: 'share of condensation nights that were warned of' }),
    precision: z.number().nullable().meta({ description: 'share of warnings that came true' }),
    recallRange: shareRange,
    precisionRange: shareRange,
    warnings: z.int(),
    reliability: z.array(reliabilityBin),
  })
  .meta({ id: 'ForecastScore' });

export const pastForecast = z
  .object({
    placeId,
    night: z.iso.date().meta({ description: 'local date on which the night began' }),
    hour: z.int().meta({ description: 'local hour as of which it was made' }),
    madeAt: instant.meta({ description: 'later than the hour where the program was not running then' }),
    chance,
    minimumMargin: z.object({ value: z.number(), low: z.number(), high: z.number() }).meta({ description: 'K' }),
    at: instant,
    basis: z.enum(forecastBases),
    outcome: z
      .object({ wet: z.boolean(), lowest: z.number().meta({ description: 'lowest hourly margin, K' }) })
      .nullable()
      .meta({ description: 'null: the night is not over, or too little of it is known' }),
  })
  .meta({ id: 'PastForecast' });

export const forecastScores = z
  .object({
    warningChance: chance,
    scores: z
      .array(forecastScore)
      .meta({ description: 'one for each hour at which forecasts are kept, of all surfaces' }),
    places: z
      .array(z.object({ ...surface, scores: z.array(forecastScore) }))
      .meta({ description: 'the same of each surface by itself' }),
    nights: z.array(pastForecast).meta({ description: 'newest night first' }),
  })
  .meta({ id: 'ForecastScores' });

export const tonight = z
  .object({
    time: instant,
    night,
    warningChance: chance.meta({ description: 'from which a warning is worth giving' }),
    surfaces: z.array(z.discriminatedUnion('kind', [forecast, notEnoughForForecast])),
    score: forecastScore
      .nullable()
      .meta({ description: 'how the 18:00 forecasts of all surfaces did so far; null: none is over yet' }),
  })
  .meta({ id: 'Tonight' });

export type Tonight = z.output<typeof tonight>;
export type ForecastScores = z.output<typeof forecastScores>;
