import { inRange } from './range.ts';

/**
 * One source of error and what it does to a quantity when it errs by one standard uncertainty: in the quantity's unit,
 * signed. Parts with the same source err together, wherever they appear; parts of different sources know nothing of each
 * other. So two sensors corrected against the same reference share a part, and in a difference it cancels.
 */
export interface ErrorPart {
  /** a name such as `sensor 7, humidity` or `side-by-side run of 3 October` */
  readonly source: string;
  readonly contribution: number;
}

/** A value and the errors that may be in it. Carry this, not the total, through a chain of equations. */
export interface Measured {
  readonly value: number;
  readonly parts: readonly ErrorPart[];
}

/**
 * A value with its sources of error.
 *
 * @throws RangeError where the value or a contribution is not a finite number
 */
export function measured(value: number, ...parts: readonly ErrorPart[]): Measured {
  inRange('value', value, '', -Number.MAX_VALUE, Number.MAX_VALUE);
  for (const { source, contribution } of parts) {
    inRange(`contribution of ${source}`, contribution, '', -Number.MAX_VALUE, Number.MAX_VALUE);
  }
  return { value, parts };
}

/** An input of an equation and how much the result moves for one unit of it. */
export type Influence = readonly [input: Measured, sensitivity: number];

/**
 * The result of an equation with the errors of its inputs, to first order: each source's contributions are added with
 * their signs. Good where the equation is nearly straight over a few standard uncertainties.
 *
 * @param value the equation's result for the inputs' values
 * @param influences each input with its partial derivative
 * @source JCGM 100:2008 (GUM), 5.1.2 and 5.2.2
 */
export function propagate(value: number, ...influences: readonly Influence[]): Measured {
  const bySource = new Map<string, number>();
  for (const [input, sensitivity] of influences) {
    for (const { source, contribution } of input.parts) {
      bySource.set(source, (bySource.get(source) ?? 0) + sensitivity * contribution);
    }
  }
  return measured(value, ...Array.from(bySource, ([source, contribution]) => ({ source, contribution })));
}

/**
 * Combined standard uncertainty, in the quantity's unit. Twice it is an interval of about 95 %.
 *
 * @source JCGM 100:2008 (GUM), 5.1.2
 */
export function standardUncertainty({ parts }: Measured): number {
  const bySource = new Map<string, number>();
  for (const { source, contribution } of parts) bySource.set(source, (bySource.get(source) ?? 0) + contribution);
  return Math.hypot(...bySource.values());
}

/**
 * Standard uncertainty of a quantity known only to lie within ± a limit, every value in it as likely: limit / √3.
 *
 * @param limit 0 or more, in the quantity's unit
 * @throws RangeError below 0
 * @source JCGM 100:2008 (GUM), 4.3.7
 */
export function standardFromLimit(limit: number): number {
  return inRange('limit', limit, '', 0, Number.MAX_VALUE) / Math.sqrt(3);
}
