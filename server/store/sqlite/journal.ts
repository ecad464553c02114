import { randomBytes } from 'node:crypto';
import { journalContent, type Subject, subjectColumns, subjects } from '../journal-content.ts';
import type { JournalEntry } from '../port-provenance.ts';
import type { Connection } from './database.ts';

const whereIs = (subject: Subject): string => (subject === 'dwelling' ? 'id = ?' : 'dwelling_id = ? AND id = ?');
const identity = (subject: Subject, dwellingId: number, id: number): number[] =>
  subject === 'dwelling' ? [dwellingId] : [dwellingId, id];

/**
 * Writes down what a row is now, or that it is gone. To be called in the transaction of the change, after it. The first
 * call for a dwelling writes down everything that is there.
 */
export function noteChange(db: Connection, subject: Subject, dwellingId: number, id: number): void {
  const textKey = textKeyOf(db, dwellingId);
  if (textKey === undefined) {
    beginJournal(db, dwellingId);
    return;
  }
  const row = db
    .prepare<number[], Record<string, unknown>>(
      `SELECT ${subjectColumns(subject)} FROM ${subject} WHERE ${whereIs(subject)}`,
    )
    .get(...identity(subject, dwellingId, id));
  append(db, dwellingId, subject, id, row === undefined ? 'null' : journalContent(row, textKey));
}

const textKeyOf = (db: Connection, dwellingId: number): string | undefined =>
  db.prepare<[number], string>('SELECT text_key FROM sealing WHERE dwelling_id = ?').pluck().get(dwellingId);

/** Begins the journal of a dwelling that has none with all that is there. To be called in a transaction. */
export function beginJournal(db: Connection, dwellingId: number, given?: string): void {
  if (textKeyOf(db, dwellingId) !== undefined) return;
  const textKey = given ?? randomBytes(32).toString('hex');
  db.prepare('INSERT INTO sealing (dwelling_id, text_key) VALUES (?, ?)').run(dwellingId, textKey);
  for (const { subject, subjectId, content } of storyNow(db, dwellingId, textKey)) {
    append(db, dwellingId, subject, subjectId, content);
  }
}

/** Every row of the story as it would be written down now. */
export function storyNow(
  db: Connection,
  dwellingId: number,
  textKey: string,
): Pick<JournalEntry, 'subject' | 'subjectId' | 'content'>[] {
  return subjects.flatMap((subject) =>
    db
      .prepare<[number], Record<string, unknown> & { id: number }>(
        `SELECT ${subjectColumns(subject)} FROM ${subject} WHERE ${subject === 'dwelling' ? 'id' : 'dwelling_id'} = ? ORDER BY id`,
      )
      .all(dwellingId)
      .map((row) => ({ subject, subjectId: row.id, content: journalContent(row, textKey) })),
  );
}

function append(db: Connection, dwellingId: number, subject: string, subjectId: number, content: string): void {
  db.prepare(
    `INSERT INTO journal (dwelling_id, id, at, subject, subject_id, content)
     SELECT $dwelling, coalesce(max(id), 0) + 1, $at, $subject, $subjectId, $content FROM journal WHERE dwelling_id = $dwelling`,
  ).run({ dwelling: dwellingId, at: Date.now(), subject, subjectId, content });
}
