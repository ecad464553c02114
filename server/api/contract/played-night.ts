import { z } from 'zod';
import { figureNames } from '../../analysis/now.ts';
import { sectionPosition } from './dwelling.ts';
import { headlineAbout, placeState } from './figures.ts';
import { instant, placeId, placeKind } from './values.ts';

const column = z.array(z.number().nullable());

export const nightParams = z
  .union([z.iso.date(), z.literal('last')])
  .meta({ description: 'local date on which the night begins, 2026-01-14, or last: the last one with readings' });

export const playedPlace = z
  .object({
    placeId,
    name: z.string(),
    kind: placeKind,
    airPlaceId: placeId.nullable(),
    position: sectionPosition.nullable(),
    states: z.array(placeState),
    figures: z
      .record(z.enum(figureNames), z.object({ values: column, plusMinus: column }))
      .meta({ description: 'an entry per hour; units as in Now; plusMinus: half width of the 95 % interval' }),
  })
  .meta({ id: 'PlayedPlace' });

export const night = z
  .object({
    night: z.iso.date().meta({ description: 'local date on which it begins' }),
    start: instant.meta({ description: 'the local noon before it' }),
    hours: z.int().meta({ description: 'from noon to noon: 24, or 23 or 25 where the clock changes' }),
    nightFrom: instant,
    nightTo: instant,
    firstNight: z.iso.date().nullable().meta({ description: 'the first night with hour records; null: none' }),
    lastNight: z.iso.date().nullable(),
    headlines: z.array(z.object({ headline: z.string(), headlineAbout, detail: z.string() })),
    places: z.array(playedPlace),
  })
  .meta({
    id: 'PlayedNight',
    description: 'every place in every hour of a night, from the hour records, by the rules of Now',
  });

export type Night = z.infer<typeof night>;

const typical = z
  .object({ value: z.number(), low: z.number(), high: z.number() })
  .meta({ description: 'the middle one of the nights’ means, and between what half of the nights lie' });

export const typicalPlace = z
  .object({
    placeId,
    name: z.string(),
    kind: placeKind,
    position: sectionPosition.nullable(),
    state: placeState,
    figures: z.record(z.enum(figureNames), typical.nullable()),
    knownNights: z.int().nullable(),
    condensationNights: z.int().nullable(),
  })
  .meta({ id: 'TypicalPlace' });

const typicalPhase = z.object({
  outdoorMeanC: z.number().meta({ description: 'mean of the matched nights, °C' }),
  places: z.array(typicalPlace),
});

export const matchedNights = z
  .discriminatedUnion('kind', [
    z.object({ kind: z.literal('matched'), pairs: z.int(), before: typicalPhase, after: typicalPhase }),
    z.object({ kind: z.literal('not-enough'), message: z.string().meta({ description: 'why, and what to do' }) }),
  ])
  .and(z.object({ settings: z.record(z.string(), z.number()).meta({ description: 'what is cold, and what alike' }) }))
  .meta({ id: 'MatchedNights', description: 'what is typical of cold nights of the same weather before and after' });

export type TypicalPlace = z.infer<typeof typicalPlace>;
export type MatchedNights = z.infer<typeof matchedNights>;
