import { z } from 'zod';
import { instant } from './values.ts';

export const backups = z
  .object({
    folder: z.string().nullable().meta({ description: 'null: none is set, and none are made' }),
    everyHours: z.number(),
    keep: z.int(),
    running: z.boolean(),
    elsewhere: z.boolean().meta({
      description: 'readings are in a database on a server, which has tools of its own for backups; none are made here',
    }),
    sameDisk: z.boolean().meta({ description: 'the folder is on the same disk as the database: one fault takes both' }),
    lastFailure: z.object({ at: instant, message: z.string() }).nullable(),
    backups: z.array(z.object({ name: z.string(), at: instant, bytes: z.int() })).meta({
      description: 'newest first; each was read back and found equal to the store at that moment',
    }),
  })
  .meta({ id: 'Backups' });
