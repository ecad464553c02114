import { z } from 'zod';
import { instant } from './values.ts';

/** Bytes of a picture that are still taken. */
export const LARGEST_PHOTO = 20 << 20;
export const MOST_PHOTOS = 12;

export const photo = z
  .object({
    id: z.int(),
    width: z.int(),
    height: z.int(),
    alt: z.string().meta({ description: 'what is seen in it, in words; empty: not said yet' }),
    takenAt: instant.nullable().meta({
      description: "when it was taken, by its camera's clock; null: the file does not say, or says what cannot be",
    }),
    sha256: z.string().meta({ description: 'of the file as it was sent' }),
  })
  .meta({ id: 'Photo' });

export const entryPhotos = z
  .array(z.strictObject({ id: z.int().positive(), alt: z.string().trim().max(300) }))
  .max(MOST_PHOTOS)
  .meta({ description: 'the photos of the entry, all of them: one that is left out is removed' });

export const photoSize = z.enum(['full', 'thumbnail']);

export type Photo = z.infer<typeof photo>;
