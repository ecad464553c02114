import type { Noun } from '../nouns.ts';
import type { Connection } from './database.ts';

/** Gives out ids within a dwelling: 1, 2, 3 and so on for each noun, never the same again after a removal. */
export function idGiver(db: Connection): (dwellingId: number, noun: Noun) => number {
  const next = db
    .prepare<[number, string], number>(
      `INSERT INTO last_id (dwelling_id, noun, id) VALUES (?, ?, 1)
       ON CONFLICT DO UPDATE SET id = last_id.id + 1 RETURNING id`,
    )
    .pluck();
  return (dwellingId, noun) => next.get(dwellingId, noun)!;
}
