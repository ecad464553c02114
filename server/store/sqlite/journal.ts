import { createHash, randomBytes } from 'node:crypto';
import { pictureDigest, writtenDigest } from '../canonical.ts';
import type { JournalEntry } from '../port-provenance.ts';
import type { Connection } from './database.ts';

/** Tables whose changes are written down. A table that holds part of the evidence belongs here. */
const subjects = [
  'dwelling',
  'place',
  'sensor',
  'series',
  'placement',
  'phase',
  'calibration',
  'diary_entry',
  'photo',
  'import_file',
] as const;
export type Subject = (typeof subjects)[number];

export const isSubject = (table: string): table is Subject => (subjects as readonly string[]).includes(table);

/** Columns that hold what people wrote: the journal holds their keyed digests, so that it can be handed on without them. */
const written: readonly string[] = ['name', 'slug', 'key', 'text', 'note', 'alt'];

const whereIs = (subject: Subject): string => (subject === 'dwelling' ? 'id = ?' : 'dwelling_id = ? AND id = ?');
const identity = (subject: Subject, dwellingId: number, id: number): number[] =>
  subject === 'dwelling' ? [dwellingId] : [dwellingId, id];

/** A photo is written down with its picture. */
const columnsOf = (subject: Subject): string =>
  subject === 'photo'
    ? `*, (SELECT jpeg FROM photo_image WHERE photo_image.dwelling_id = photo.dwelling_id AND photo_id = photo.id
          AND size = 'full') AS picture`
    : '*';

/** A row as the journal writes it down: its columns in order of name. */
export function journalContent(row: Readonly<Record<string, unknown>>, textKey: string): string {
  const content: Record<string, unknown> = {};
  for (const column of Object.keys(row).sort()) {
    if (column === 'dwelling_id' || column === 'id') continue;
    const value = row[column];
    if (Buffer.isBuffer(value)) content[column] = pictureDigest(createHash('sha256').update(value).digest('hex'));
    else if (typeof value === 'string' && written.includes(column)) content[column] = writtenDigest(value, textKey);
    else content[column] = value;
  }
  return JSON.stringify(content);
}

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
      `SELECT ${columnsOf(subject)} FROM ${subject} WHERE ${whereIs(subject)}`,
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
        `SELECT ${columnsOf(subject)} FROM ${subject} WHERE ${subject === 'dwelling' ? 'id' : 'dwelling_id'} = ? ORDER BY id`,
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
