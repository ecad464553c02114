import type { HumidityFloor } from './growth-limit.ts';
import type { Comparison } from './hours-over.ts';
import { type MouldSensitivity, mouldSensitivities } from './mould-sensitivity.ts';
import { inRange } from './range.ts';

/** Where the sources of the mould index disagree, the choice is an option; every result echoes the options it used. */
export interface MouldOptions {
  /** material class of the surface */
  readonly sensitivity: MouldSensitivity;
  /**
   * k1. `class-table`: the constants of 2010, one below index 1 and one from there. `response-times`: the form of 1999
   * for untreated timber, 1 below index 1 and 2 / (tv / tm - 1) from there; very sensitive class only.
   */
  readonly growthFactor: 'class-table' | 'response-times';
  /** W, 0 (pine) to 1 (spruce). `by-class`: 0 for very sensitive, 1 for the others, as in one North American reading. */
  readonly timberTerm: number | 'by-class';
  /** SQ, 0 (sawn after drying) to 1 (the surface as it was dried) */
  readonly surfaceTerm: number;
  /** 0 to 1; published for materials: 1, 0.5, 0.25, 0.1. Less keeps the index up longer: the more cautious reading. */
  readonly declineFactor: number;
  /**
   * Fall of the index in dry hours 1 to 6 and from hour 25. `per-day`: 0.032 and 0.016 a day, as published in 1999.
   * `per-hour`: the same rounded to 0.00133 and 0.000667 an hour, as later papers print it.
   */
  readonly declineRates: 'per-day' | 'per-hour';
  readonly humidityFloor: HumidityFloor;
  /** whether an hour exactly at the growth limit grows */
  readonly growthAtLimit: Comparison;
}

/**
 * The options used unless others are given.
 *
 * Sensitive, because the surface of a lined or papered ceiling is paper, paint on paper or wood-based board. W = SQ = 0,
 * the floor at all temperatures, growth at the limit and the daily rates, as the Finnish authors' own circle computes
 * it. Decline factor 0.5: "significant", between untreated pine (1) and the cautious North American 0.1.
 */
export const mouldDefaults: MouldOptions = Object.freeze({
  sensitivity: 'sensitive',
  growthFactor: 'class-table',
  timberTerm: 0,
  surfaceTerm: 0,
  declineFactor: 0.5,
  declineRates: 'per-day',
  humidityFloor: 'at-all-temperatures',
  growthAtLimit: 'at-or-above',
});

const choices = {
  sensitivity: mouldSensitivities,
  growthFactor: ['class-table', 'response-times'],
  declineRates: ['per-day', 'per-hour'],
  humidityFloor: ['at-all-temperatures', 'above-20-only'],
  growthAtLimit: ['at-or-above', 'above'],
} as const satisfies { readonly [Name in keyof MouldOptions]?: readonly MouldOptions[Name][] };

/**
 * The defaults with the choices made, checked: stored settings may hold what the types forbid.
 *
 * @throws RangeError naming the option that is out of range, or the pair that no source publishes together
 */
export function mouldOptions(chosen: Partial<MouldOptions>): MouldOptions {
  const options = Object.freeze({ ...mouldDefaults, ...chosen });
  for (const name of Object.keys(choices) as (keyof typeof choices)[]) {
    const known: readonly string[] = choices[name];
    if (!known.includes(options[name])) {
      throw new RangeError(`${name} is ${options[name]}; it must be one of ${known.join(', ')}`);
    }
  }
  if (options.timberTerm !== 'by-class') inRange('timberTerm', options.timberTerm, '', 0, 1);
  inRange('surfaceTerm', options.surfaceTerm, '', 0, 1);
  inRange('declineFactor', options.declineFactor, '', 0, 1);
  if (options.growthFactor === 'response-times' && options.sensitivity !== 'very-sensitive') {
    throw new RangeError(
      `growthFactor response-times was published for untreated timber: use it with sensitivity very-sensitive, not ${options.sensitivity}`,
    );
  }
  return options;
}
