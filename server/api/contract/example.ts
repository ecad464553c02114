import { z } from 'zod';

export const example = z
  .object({
    state: z.enum(['absent', 'loading', 'there', 'removing']),
    name: z.string().meta({ description: 'of the invented home' }),
    dwelling: z.string().nullable().meta({ description: 'its short name while it is there' }),
    share: z.number().min(0).max(1).nullable().meta({ description: 'how far loading has come' }),
    step: z.enum(['readings', 'hours', 'now']).nullable(),
    problem: z.string().nullable().meta({ description: 'why the last loading or removal failed' }),
  })
  .meta({ id: 'Example', description: 'the invented home to try the program with' });

export type Example = z.infer<typeof example>;
