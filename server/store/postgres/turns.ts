import type { Transaction } from './database.ts';

/**
 * To be called when something changes that processes remember of a dwelling: which series is of which key, what arrived
 * late, which day is open. Whoever has the turn of the dwelling next sees another version and forgets.
 *
 * @returns the new version
 */
export async function changeVersion(tx: Transaction, dwellingId: number): Promise<number> {
  const { version } = (await tx.first<{ version: number }>(
    'UPDATE dwelling_turn SET version = version + 1 WHERE dwelling_id = $1 RETURNING version',
    [dwellingId],
  ))!;
  return version;
}
