import type { Noun } from '../nouns.ts';
import type { Transaction } from './database.ts';

/**
 * Gives out ids within a dwelling: 1, 2, 3 and so on for each noun, never the same again after a removal. The row of the
 * counter is locked until the transaction ends, so that ids are kept in the order in which they were given.
 *
 * @param count how many; the first of them is returned
 */
export async function nextId(
  tx: Transaction,
  dwellingId: number,
  noun: Noun | 'journal' | 'notice',
  count = 1,
): Promise<number> {
  const { id } = (await tx.first<{ id: number }>(
    `INSERT INTO last_id (dwelling_id, noun, id) VALUES ($1, $2, $3)
     ON CONFLICT (dwelling_id, noun) DO UPDATE SET id = last_id.id + excluded.id RETURNING id`,
    [dwellingId, noun, count],
  ))!;
  return id - count + 1;
}
