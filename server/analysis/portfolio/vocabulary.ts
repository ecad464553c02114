import { watchFields } from '../watch/settings.ts';

/**
 * How much of a home its household lets a landlord see. summary: its line in the portfolio; figures: the same, and its
 * screens with places, sensors and figures; report: the same, and its readings, the report and evidence packs without words.
 */
export const consentScopes = ['summary', 'figures', 'report'] as const;
export type ConsentScope = (typeof consentScopes)[number];

/** Whether a scope that was agreed to takes in another. */
export const takesIn = (agreed: ConsentScope, wanted: ConsentScope): boolean =>
  consentScopes.indexOf(agreed) >= consentScopes.indexOf(wanted);

/** What one looks for among many homes, in the order in which one would ask. */
export const portfolioConditions = [
  'wet-tonight',
  'below-target',
  'not-helped',
  'needs-visit',
  'too-cold',
  'too-moist',
] as const;
export type PortfolioCondition = (typeof portfolioConditions)[number];

/** What homes can be put in order by: the worst first, or by the alphabet. */
export const portfolioOrders = ['tonight', 'factor', 'sensors', 'name', 'area'] as const;
export type PortfolioOrder = (typeof portfolioOrders)[number];

export const portfolioGroupings = ['area', 'build-type'] as const;
export type PortfolioGrouping = (typeof portfolioGroupings)[number];

/** Chance of condensation from which a night is looked for as wet, 0 to 1: as where word of it is sent. */
export const LIKELY_NIGHT = watchFields['condensation-ahead'].chancePct.value / 100;

/** A person with this reach sees every home, or those of a list and of groups. */
export type Reach =
  | { readonly kind: 'all' }
  | { readonly kind: 'listed'; readonly dwellingIds: readonly number[]; readonly groupIds: readonly number[] };
