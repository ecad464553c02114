import { z } from 'zod';
import { trackFigureNames } from '../../analysis/track-figures.ts';
import { instant, placeId, sentInstant } from './values.ts';

export const trackFigureName = z.enum(trackFigureNames);

/** Points asked for where a request does not say. */
const USUAL_POINTS = 1000;
export const MOST_POINTS = 20_000;

export const trackQuery = z.object({
  figures: z.string().meta({ description: `comma-separated: ${trackFigureNames.join(', ')}` }),
  from: sentInstant.optional().meta({ description: 'left out: as far back as anything is known' }),
  to: sentInstant.optional().meta({ description: 'left out: up to the last hour known' }),
  points: z.coerce
    .number()
    .int()
    .min(2)
    .max(MOST_POINTS)
    .default(USUAL_POINTS)
    .meta({ description: 'entries wanted at the most' }),
});

const column = z.array(z.number().nullable());

export const trackFigure = z
  .object({
    figure: trackFigureName,
    unit: z.string(),
    kind: z.enum(['readings', 'buckets']).meta({
      description:
        'readings: an entry is one reading, corrected; buckets: an entry is all that is known from its begin to the next',
    }),
    stepHours: z.number().nullable().meta({ description: 'usual length of a bucket, hours; null for readings' }),
    start: instant,
    begins: z.array(z.number()).meta({ description: 'seconds after start at which each entry begins' }),
    end: z.number().meta({ description: 'seconds after start at which the last entry ends' }),
    min: column.meta({
      description:
        'lowest reading; of margin the lowest there was, of figures whose readings are not kept by the hour the lowest hourly mean. null: a gap',
    }),
    mean: column,
    max: column.meta({
      description:
        'highest reading; of surfaceHumidity the highest there was, of figures whose readings are not kept by the hour the highest hourly mean',
    }),
    count: z.array(z.int()).meta({ description: 'readings or hours known in the entry; 0: a gap' }),
    plusMinus: column.meta({
      description: 'half width of the 95 % interval of what the sensors may be off by; null where none is known',
    }),
  })
  .meta({ id: 'TrackFigure' });

export const track = z
  .object({
    placeId,
    known: z
      .object({ from: instant, to: instant })
      .nullable()
      .meta({ description: 'first and last hour known anywhere in the dwelling; null: none' }),
    figures: z.array(trackFigure),
  })
  .meta({
    id: 'Track',
    description:
      'figures of a place over time at a wanted resolution: lowest, mean and highest of each bucket, so that no peak is lost. Hours and readings that count nowhere are gaps. Buckets stand by whole UTC hours, from a day up by local midnights',
  });

export type TrackFigureName = z.infer<typeof trackFigureName>;
export type TrackFigureWire = z.infer<typeof trackFigure>;
export type TrackWire = z.infer<typeof track>;
