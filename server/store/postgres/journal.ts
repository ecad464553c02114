import { randomBytes } from 'node:crypto';
import { journalContent, type Subject, subjectColumns, subjects } from '../journal-content.ts';
import type { JournalEntry } from '../port-provenance.ts';
import { int4s } from './arrays.ts';
import type { Connection, Transaction } from './database.ts';
import { nextId } from './ids.ts';

type Entry = Pick<JournalEntry, 'subject' | 'subjectId' | 'content'>;

/**
 * Writes down what a row is now, or that it is gone. To be called in the transaction of the change, after it. The first
 * call for a dwelling writes down everything that is there.
 */
export const noteChange = (tx: Transaction, subject: Subject, dwellingId: number, id: number): Promise<void> =>
  noteChanges(tx, subject, dwellingId, [id]);

/** The same of several rows, in their order. */
export async function noteChanges(
  tx: Transaction,
  subject: Subject,
  dwellingId: number,
  ids: readonly number[],
): Promise<void> {
  const textKey = await textKeyOf(tx, dwellingId);
  if (textKey === undefined) return beginJournal(tx, dwellingId);
  const rows = await tx.all<Record<string, unknown> & { id: number }>(
    `SELECT ${subjectColumns(subject)} FROM ${subject}
     WHERE ${subject === 'dwelling' ? 'id = $1' : 'dwelling_id = $1'} AND id = ANY ($2::int[])`,
    [dwellingId, int4s(ids)],
  );
  const there = new Map(rows.map((row) => [row.id, row]));
  const entries = ids.map((id): Entry => {
    const row = there.get(id);
    return { subject, subjectId: id, content: row === undefined ? 'null' : journalContent(row, textKey) };
  });
  await append(tx, dwellingId, entries);
}

const textKeyOf = async (db: Connection, dwellingId: number): Promise<string | undefined> =>
  (await db.first<{ key: string }>('SELECT text_key AS key FROM sealing WHERE dwelling_id = $1', [dwellingId]))?.key;

/** Begins the journal of a dwelling that has none with all that is there. To be called in the dwelling's turn. */
export async function beginJournal(tx: Transaction, dwellingId: number): Promise<void> {
  if ((await textKeyOf(tx, dwellingId)) !== undefined) return;
  const textKey = randomBytes(32).toString('hex');
  await tx.run('INSERT INTO sealing (dwelling_id, text_key) VALUES ($1, $2)', [dwellingId, textKey]);
  await append(tx, dwellingId, await storyNow(tx, dwellingId, textKey));
}

/** Every row of the story as it would be written down now. */
export async function storyNow(db: Connection, dwellingId: number, textKey: string): Promise<Entry[]> {
  const story: Entry[] = [];
  for (const subject of subjects) {
    const rows = await db.all<Record<string, unknown> & { id: number }>(
      `SELECT ${subjectColumns(subject)} FROM ${subject}
       WHERE ${subject === 'dwelling' ? 'id' : 'dwelling_id'} = $1 ORDER BY id`,
      [dwellingId],
    );
    for (const row of rows) story.push({ subject, subjectId: row.id, content: journalContent(row, textKey) });
  }
  return story;
}

async function append(tx: Transaction, dwellingId: number, entries: readonly Entry[]): Promise<void> {
  if (entries.length === 0) return;
  const first = await nextId(tx, dwellingId, 'journal', entries.length);
  await tx.run(
    `INSERT INTO journal (dwelling_id, id, at, subject, subject_id, content)
     SELECT $1, $2 + place - 1, $3, subject, subject_id, content
     FROM unnest($4::text[], $5::int[], $6::text[]) WITH ORDINALITY AS entry (subject, subject_id, content, place)`,
    [
      dwellingId,
      first,
      Date.now(),
      entries.map(({ subject }) => subject),
      entries.map(({ subjectId }) => subjectId),
      entries.map(({ content }) => content),
    ],
  );
}
