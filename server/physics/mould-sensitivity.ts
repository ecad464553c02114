/**
 * What a class of materials contributes to the mould index: the growth factor k1 below and from index 1, the terms of
 * the largest index A + B r - C r², the lowest humidity at which it grows, and the timber term W in the reading that
 * gives every class its own.
 *
 * @source Ojanen, Viitanen et al. (2010), as carried by two independent public codes; W from memory
 */
export interface MouldClass {
  readonly growthFactor: number;
  readonly growthFactorFromOne: number;
  readonly largest: { readonly a: number; readonly b: number; readonly c: number };
  /** % */
  readonly lowestHumidity: number;
  readonly timberTerm: number;
  readonly examples: string;
}

export const mouldClasses = Object.freeze({
  'very-sensitive': {
    growthFactor: 1,
    growthFactorFromOne: 2,
    largest: { a: 1, b: 7, c: 2 },
    lowestHumidity: 80,
    timberTerm: 0,
    examples: 'untreated pine sapwood',
  },
  sensitive: {
    growthFactor: 0.578,
    growthFactorFromOne: 0.386,
    largest: { a: 0.3, b: 6, c: 1 },
    lowestHumidity: 80,
    timberTerm: 1,
    examples: 'planed wood, paper-coated products, wood-based boards, wallpapered plasterboard',
  },
  'medium-resistant': {
    growthFactor: 0.072,
    growthFactorFromOne: 0.097,
    largest: { a: 0, b: 5, c: 1.5 },
    lowestHumidity: 85,
    timberTerm: 1,
    examples: 'cement and plastic based materials, mineral fibres',
  },
  resistant: {
    growthFactor: 0.033,
    growthFactorFromOne: 0.014,
    largest: { a: 0, b: 3, c: 1 },
    lowestHumidity: 85,
    timberTerm: 1,
    examples: 'glass, metal, products with protective treatment',
  },
} as const satisfies Record<string, MouldClass>);

export type MouldSensitivity = keyof typeof mouldClasses;

export const mouldSensitivities = Object.keys(mouldClasses) as MouldSensitivity[];
