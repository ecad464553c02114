import { z } from 'zod';
import { onboardingFaultCodes } from '../../analysis/onboarding-faults.ts';
import { slug } from './values.ts';

export type { OnboardingFaultWords } from '../../analysis/onboarding-faults.ts';

const counts = z.object({
  dwellings: z.int(),
  places: z.int(),
  sensors: z.int(),
  mappings: z.int(),
  accounts: z.int(),
});
const fault = z.object({
  row: z.int().nullable().meta({ description: 'line of the file, the header being 1; null: the file as a whole' }),
  column: z.string().nullable(),
  dwelling: z.string().nullable().meta({ description: 'the home that is left out for it' }),
  code: z.enum(onboardingFaultCodes),
  data: z.record(z.string(), z.union([z.string(), z.number()])).meta({ description: 'what the words are made of' }),
  message: z.string(),
  whatToDo: z.string(),
});

export const onboardingLook = z
  .object({
    faults: z.array(fault),
    lacking: counts.meta({ description: 'what would be added' }),
    dwellings: z.array(slug).meta({ description: 'homes of the file without a fault, for their labels' }),
  })
  .meta({ id: 'OnboardingLook' });

export const onboardingDone = z
  .object({
    faults: z.array(fault),
    added: counts,
    dwellings: z.array(slug),
    passwords: z
      .array(z.object({ dwelling: slug, sensor: z.string(), username: z.string(), password: z.string() }))
      .meta({ description: 'of the accounts that were made; shown this once' }),
  })
  .meta({ id: 'OnboardingDone' });

export const onboardingColumns = z.array(z.object({ name: z.string(), meaning: z.string() }));

export const labelsQuery = z.object({
  format: z.enum(['pdf', 'html']).default('pdf'),
  dwellings: z.string().max(8000).meta({ description: 'short names of homes, comma-separated; at most 100' }),
  base: z
    .url({ protocol: /^https?$/ })
    .meta({ description: 'where phones open the page, such as https://homes.example' }),
});
