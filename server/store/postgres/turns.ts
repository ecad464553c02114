import { int4s } from './arrays.ts';
import type { Transaction } from './database.ts';

/**
 * To be called when something changes that processes remember of dwellings: which series is of which key, what arrived late,
 * which day is open. Whoever has the turn of one next sees another version and forgets.
 *
 * @returns the new versions
 */
export async function changeVersions(
  tx: Transaction,
  dwellingIds: readonly number[],
): Promise<ReadonlyMap<number, number>> {
  if (dwellingIds.length === 0) return new Map();
  const rows = await tx.all<{ id: number; version: number }>(
    `UPDATE dwelling_turn SET version = version + 1 WHERE dwelling_id = ANY ($1::int[])
     RETURNING dwelling_id AS id, version`,
    [int4s(dwellingIds)],
  );
  return new Map(rows.map(({ id, version }) => [id, version]));
}
