import { z } from 'zod';
import type { Assessment } from '../../analysis/assessment.ts';
import { mouldSensitivities } from '../../physics/mould-sensitivity.ts';
import { phase, place } from './dwelling.ts';
import { placeId } from './values.ts';

export type * from '../../analysis/assessment.ts';

/** Query of the comparison: which surface, which phases, which target. */
export const comparisonQuery = z.object({
  surface: z.coerce.number().pipe(placeId),
  before: z.coerce
    .number()
    .int()
    .positive()
    .optional()
    .meta({ description: 'number of a phase; the first of kind before when left out' }),
  after: z.coerce
    .number()
    .int()
    .positive()
    .optional()
    .meta({ description: 'number of a phase; the last of kind after when left out' }),
  target: z.coerce
    .number()
    .min(0.1)
    .max(0.99)
    .optional()
    .meta({ description: 'target f; 0.75 (dwellings) when left out' }),
  riskLimit: z.coerce
    .number()
    .min(50)
    .max(100)
    .optional()
    .meta({ description: 'surface humidity from which an hour is a risk hour, %; 80 when left out' }),
  mouldClass: z
    .enum(mouldSensitivities)
    .optional()
    .meta({ description: 'class of the surface material in the mould index; sensitive when left out' }),
});

export const comparison = z
  .object({
    surface: place,
    before: phase.nullable(),
    after: phase.nullable(),
    assessment: z.custom<Assessment>().meta({
      description: 'the assessment: verdict, figures with intervals, working; instants in it are UTC milliseconds',
      override: { type: 'object' },
    }),
  })
  .meta({ id: 'Comparison' });

export type Comparison = z.infer<typeof comparison>;
