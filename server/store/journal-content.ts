import { createHash } from 'node:crypto';
import { pictureDigest, writtenDigest } from './canonical.ts';

/** Tables whose changes are written down. A table that holds part of the evidence belongs here. */
export const subjects = [
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

/** SQL that gives the columns of a row as the journal writes it down: a photo comes with its picture. */
export const subjectColumns = (subject: Subject): string =>
  subject === 'photo'
    ? `*, (SELECT jpeg FROM photo_image WHERE photo_image.dwelling_id = photo.dwelling_id AND photo_id = photo.id
          AND size = 'full') AS picture`
    : '*';

/** Columns that hold what people wrote: the journal holds their keyed digests, so that it can be handed on without them. */
const written: readonly string[] = ['name', 'slug', 'key', 'text', 'note', 'alt'];

/** A row as the journal writes it down: its columns in order of name, the same whatever engine it came from. */
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
