import type { z } from 'zod';
import type { Dwelling, Store } from '../store/port.ts';
import type { Comparison, comparisonQuery } from './contract/comparison.ts';
import { RequestProblem } from './problem.ts';

export async function compare(
  _store: Store,
  dwelling: Dwelling,
  _query: z.output<typeof comparisonQuery>,
  _now: number,
): Promise<Comparison> {
  throw new RequestProblem('not-found', `The comparison of ${dwelling.slug} is being built.`);
}
