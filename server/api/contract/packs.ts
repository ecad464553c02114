import { z } from 'zod';
import { paperSizes, reportKinds } from '../../analysis/report-vocabulary.ts';
import { instant, placeId, sentInstant } from './values.ts';

/** What goes into an evidence pack. */
export const packWanted = z
  .strictObject({
    from: sentInstant,
    to: sentInstant,
    places: z
      .array(placeId)
      .min(1)
      .nullable()
      .meta({ description: 'with those their figures rest on; null: all of them' }),
    words: z
      .enum(['with-words', 'without-words'])
      .meta({ description: 'whether names, notes, photos and the contents of messages go along' }),
    report: z.enum(reportKinds).default('works').meta({
      description: 'what the report shows: cause of a cold corner, proof that works helped, watch over a season',
    }),
    paper: z.enum(paperSizes).default('A4').meta({ description: 'of the PDF' }),
  })
  .meta({ id: 'PackWanted' });

export const packPreview = z
  .object({
    from: instant,
    to: instant,
    places: z.array(
      z.object({
        placeId,
        name: z.string(),
        chosen: z.boolean().meta({ description: 'false: it comes along because figures of a chosen one rest on it' }),
        knownHours: z.int(),
        hours: z.int(),
      }),
    ),
    notes: z.int(),
    photos: z.int(),
    calibrations: z.int(),
    bytes: z.int().meta({ description: 'about how large the file will be' }),
    sealed: z
      .object({ first: z.string(), last: z.string(), days: z.int() })
      .nullable()
      .meta({ description: 'UTC days whose arrivals are sealed; null: none yet' }),
    fingerprint: z.string().meta({ description: 'of the key that will sign it' }),
  })
  .meta({ id: 'PackPreview' });

export const pack = z
  .object({
    id: z.uuid(),
    state: z.enum(['making', 'ready', 'failed']),
    step: z.enum(['waiting', 'copying', 'hours', 'figures', 'writing']).nullable(),
    share: z.number().meta({ description: 'of that step, 0 to 1' }),
    bytes: z.int().nullable(),
    file: z.string().meta({ description: 'name to save it under' }),
    problem: z.string().nullable(),
  })
  .meta({ id: 'Pack', description: 'an evidence pack being made; kept for an hour after' });

export type PackWanted = z.input<typeof packWanted>;
export type PackOrdered = z.output<typeof packWanted>;
export type PackPreview = z.infer<typeof packPreview>;
export type Pack = z.infer<typeof pack>;
