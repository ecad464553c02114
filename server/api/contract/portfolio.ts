import { z } from 'zod';
import { factorStandings } from '../../analysis/portfolio/summary.ts';
import {
  consentScopes,
  portfolioConditions,
  portfolioGroupings,
  portfolioOrders,
} from '../../analysis/portfolio/vocabulary.ts';
import { instant, name, slug } from './values.ts';

export type {
  ConsentScope,
  PortfolioCondition,
  PortfolioGrouping,
  PortfolioOrder,
} from '../../analysis/portfolio/vocabulary.ts';
export { consentScopes, portfolioConditions, portfolioGroupings, portfolioOrders };

export const consentScope = z.enum(consentScopes).meta({
  description:
    'summary: the line in the portfolio; figures: also places, sensors and figures; report: also readings, report and packs, without names, notes and photos',
});

const groupId = z.int().positive();
const label = z.string().trim().min(1).max(60);

export const homeGroup = z.object({ id: groupId, name: z.string() }).meta({ id: 'HomeGroup' });
export const groupNamed = z.strictObject({ name: label });

export const attributes = z
  .object({
    area: z.string().nullable().meta({ description: 'as whoever looks after the home calls it; null: not told' }),
    buildType: z.string().nullable().meta({ description: 'how it is built, in their words; null: not told' }),
    groupIds: z.array(groupId),
  })
  .meta({ id: 'HomeAttributes' });
export const attributesChange = z
  .strictObject({ area: label.nullable(), buildType: label.nullable(), groupIds: z.array(groupId).max(100) })
  .partial();

export const consent = z
  .object({
    id: z.int(),
    scope: consentScope,
    agreedBy: z.string().meta({ description: 'who of the household agreed' }),
    recordedBy: z.string().nullable().meta({ description: 'who wrote it down; null: nobody was signed in' }),
    givenAt: instant,
    withdrawnAt: instant.nullable().meta({ description: 'null: it holds' }),
    withdrawnBy: z.string().nullable(),
  })
  .meta({ id: 'Consent', description: 'that a household lets a landlord see something of its home' });
export const newConsent = z.strictObject({ scope: consentScope, agreedBy: name });

const filters = {
  search: z.string().trim().min(1).max(80).optional().meta({ description: 'part of a name or an area' }),
  condition: z.enum(portfolioConditions).optional(),
  area: z.string().max(60).optional().meta({ description: 'empty: homes of which it is not told' }),
  buildType: z.string().max(60).optional(),
  group: z.coerce.number().int().positive().optional(),
};
export const portfolioQuery = z.object({
  ...filters,
  order: z.enum(portfolioOrders).default('tonight').meta({ description: 'the worst first, or by the alphabet' }),
  after: z.string().max(400).optional().meta({ description: '`next` of the page before' }),
  most: z.coerce.number().int().min(1).max(200).default(50),
});
export const portfolioGroupsQuery = z.object({ ...filters, by: z.enum(portfolioGroupings) });
export const portfolioFileQuery = z.object({ ...filters, order: z.enum(portfolioOrders).default('name') });

const count = z.int();
const counts = {
  homes: count,
  'wet-tonight': count,
  'below-target': count,
  'not-helped': count,
  'needs-visit': count,
  'too-cold': count,
  'too-moist': count,
} as const satisfies Record<'homes' | (typeof portfolioConditions)[number], z.ZodType>;
export const portfolioCounts = z
  .object(counts)
  .meta({ id: 'PortfolioCounts', description: 'homes, and how many of them each condition is true of' });

export const homeLine = z
  .object({
    slug,
    name: z.string(),
    zone: z.string(),
    area: z.string().nullable(),
    buildType: z.string().nullable(),
    shared: consentScope.nullable().meta({ description: 'what the household has agreed to; null: nothing' }),
    workedOutAt: instant.nullable().meta({ description: 'when the line was worked out; null: not yet' }),
    dataTo: instant.nullable().meta({ description: 'end of the last hour of which anything is known' }),
    tonight: z
      .object({
        night: z.iso.date(),
        place: z.string(),
        chance: z.number().meta({ description: 'of at least one condensation hour, 0 to 1' }),
        marginK: z.number().meta({ description: 'lowest dew-point margin, K' }),
        marginLowK: z.number().meta({ description: 'ends of the interval that holds it in 90 of 100 nights' }),
        marginHighK: z.number(),
        likeliestAt: instant,
      })
      .nullable()
      .meta({ description: 'at the surface where condensation is likeliest; null: no forecast of tonight' }),
    factor: z
      .object({
        place: z.string(),
        phase: z.enum(['before', 'after']),
        f: z.number(),
        low: z.number().meta({ description: 'ends of the 95 % interval' }),
        high: z.number(),
        target: z.number(),
        standing: z.enum(factorStandings),
      })
      .nullable()
      .meta({ description: 'of the ceiling with the lowest; null: not known' }),
    verdict: z
      .enum(['target-met', 'better-short-of-target', 'no-change-shown', 'worse', 'not-enough-evidence'])
      .nullable()
      .meta({ description: 'whether the works helped, at the worst ceiling; null: no works to judge' }),
    verdictPlace: z.string().nullable(),
    assessedAt: instant.nullable(),
    sensors: z.int().nullable(),
    sensorsToVisit: z.int().nullable(),
    visitReasons: z.array(z.string()).meta({ description: 'codes of findings about sensors, or readings-stopped' }),
    tooCold: z.boolean().nullable().meta({ description: 'null: not watched for, or not known' }),
    tooMoist: z.boolean().nullable(),
  })
  .meta({ id: 'HomeLine', description: 'one home among many, as it was when its line was worked out' });

export const portfolio = z
  .object({
    time: instant,
    homes: z.array(homeLine),
    next: z.string().nullable().meta({ description: 'where the next page begins; null: this is the last' }),
    counts: portfolioCounts.meta({ description: 'of all that is asked for but for the condition' }),
    unshared: z
      .int()
      .meta({ description: 'homes in reach whose household has agreed to nothing; 0 where that is not asked' }),
    likelyChance: z.number().meta({ description: 'chance from which a night counts as wet, 0 to 1' }),
    choices: z.object({ areas: z.array(z.string()), buildTypes: z.array(z.string()), groups: z.array(homeGroup) }),
  })
  .meta({ id: 'Portfolio' });

export const portfolioGroups = z.array(
  z.object({ name: z.string().nullable().meta({ description: 'null: homes of which it is not told' }), ...counts }),
);

/** Whom a person reaches. */
export const reach = z
  .union([
    z.strictObject({ kind: z.literal('all') }),
    z.strictObject({
      kind: z.literal('listed'),
      dwellings: z.array(slug).max(10_000),
      groupIds: z.array(groupId).max(1000),
    }),
  ])
  .meta({ id: 'Reach', description: 'every home, or those of a list and of groups' });

export type HomeLine = z.infer<typeof homeLine>;
export type Portfolio = z.infer<typeof portfolio>;
