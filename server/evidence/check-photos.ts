import { pictureDigest, writtenDigest } from '../store/canonical.ts';
import type { JournalEntry } from '../store/port.ts';
import { rowsOf } from './packed-tables.ts';
import type { PackContents } from './scope.ts';
import { photoTable } from './tables.ts';
import type { PackFault, Unpacked } from './unpack.ts';

const TABLE = 'story/photos.csv';

/**
 * Whether every picture is the one that its table and the journal give the digest of, and no photo of an entry was left out.
 *
 * @param textKey null: the pack has no names and notes, and no photos
 */
export async function checkPhotos(
  pack: Unpacked,
  { diary }: PackContents,
  journal: readonly JournalEntry[],
  textKey: string | null,
  complain: (fault: PackFault) => void,
): Promise<void> {
  if (textKey === null && !pack.digests.has(`data/${TABLE}`)) return;
  const fault = (id: number, what: string): void =>
    complain({ part: 'story', member: `data/${TABLE}`, message: `photo ${id} ${what}` });
  const last = new Map(
    journal.filter(({ subject }) => subject === 'photo').map(({ subjectId, content }) => [subjectId, content]),
  );
  const here = new Set<number>();
  for await (const row of rowsOf(pack, TABLE, photoTable, complain)) {
    const id = row.id as number;
    here.add(id);
    const member = `data/${row.file as string}`;
    const digest = row.file_sha256 as string;
    if (pack.digests.get(member) !== digest) {
      complain({ part: 'table', member, message: 'the picture is not the one that photos.csv gives the digest of' });
    }
    const content = last.get(id);
    if (content === undefined) fault(id, 'is not in the journal');
    else if (content === 'null') fault(id, 'was removed, as the journal says');
    else {
      const said = JSON.parse(content) as Record<string, unknown>;
      if (said.picture !== pictureDigest(digest)) {
        complain({ part: 'story', member, message: 'the picture is not the one that the journal holds the digest of' });
      }
      const same =
        said.entry_id === row.entry &&
        said.sha256 === row.sent_sha256 &&
        said.taken_at === row.taken_at_utc &&
        said.added_at === row.added_at_utc &&
        (textKey === null || said.alt === writtenDigest((row.alt as string | null) ?? '', textKey));
      if (!same) fault(id, 'is not what the journal says it became');
    }
  }
  const entries = new Set<unknown>(diary.map(({ id }) => id));
  for (const [id, content] of last) {
    if (content === 'null' || here.has(id)) continue;
    if (entries.has((JSON.parse(content) as Record<string, unknown>).entry_id)) {
      fault(id, 'is in the journal and not in the pack');
    }
  }
}
