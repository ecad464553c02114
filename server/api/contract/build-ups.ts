import { z } from 'zod';
import { liningFileSchema } from './lining-file.ts';
import { instant, name } from './values.ts';

export { liningAnswer } from './lining-answer.ts';
export { liningFileSchema } from './lining-file.ts';

export const liningQuery = z.object({
  log: z.enum(['own']).optional().meta({
    description:
      'own: take room and outdoor air from the hour records of the dwelling, and give what was measured beside it; nothing when left out',
  }),
});

export const buildUps = z
  .object({
    id: z.int().positive(),
    name,
    savedAt: instant,
    file: z.unknown().meta({ description: 'as the lining command reads it' }),
  })
  .meta({ id: 'BuildUps', description: 'a ceiling before and after lining, under one name' });
export const newBuildUps = z.strictObject({ name, file: liningFileSchema });
export const buildUpsChange = newBuildUps.partial();

export type BuildUpsWire = z.infer<typeof buildUps>;
