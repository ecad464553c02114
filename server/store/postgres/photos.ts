import { oneOf, wholeTime } from '../arguments.ts';
import { checkPhoto, noPhoto, photoColumns, refuseOfOther } from '../photo-rows.ts';
import { type Photo, type PhotoStore, photoSizes } from '../port.ts';
import type { Database } from './database.ts';
import { nextId } from './ids.ts';
import { noteChange } from './journal.ts';
import { findRow, insertRow, isId, listRows, removeRow, requireDwelling, updateRow } from './rows.ts';

export function photoStore(db: Database): PhotoStore {
  return {
    async photos(dwellingId) {
      return listRows(db, 'photo', photoColumns, dwellingId, 'id');
    },

    async addPhoto(photo, images) {
      checkPhoto(photo);
      return db.inTurn(photo.dwellingId, async (tx) => {
        const whole: Photo = { ...photo, id: await nextId(tx, photo.dwellingId, 'photo'), entryId: null, alt: '' };
        await insertRow(tx, 'photo', photoColumns, whole);
        for (const size of photoSizes) {
          await tx.run('INSERT INTO photo_image (dwelling_id, photo_id, size, jpeg) VALUES ($1, $2, $3, $4)', [
            whole.dwellingId,
            whole.id,
            size,
            images[size],
          ]);
        }
        // once more, with its picture
        await noteChange(tx, 'photo', whole.dwellingId, whole.id);
        return whole;
      });
    },

    async photoImage(dwellingId, id, size) {
      oneOf('size', size, photoSizes);
      await requireDwelling(db, dwellingId);
      const found = isId(id)
        ? await db.first<{ jpeg: Uint8Array }>(
            'SELECT jpeg FROM photo_image WHERE dwelling_id = $1 AND photo_id = $2 AND size = $3',
            [dwellingId, id, size],
          )
        : undefined;
      if (found === undefined) throw noPhoto(dwellingId, id);
      return found.jpeg;
    },

    async setEntryPhotos(dwellingId, entryId, wanted) {
      await db.inTurn(dwellingId, async (tx) => {
        await findRow(tx, 'diary_entry', { id: 'id' }, dwellingId, entryId);
        for (const { id, alt } of wanted) {
          const photo = await findRow(tx, 'photo', photoColumns, dwellingId, id);
          refuseOfOther(photo, entryId);
          await updateRow(tx, 'photo', photoColumns, { ...photo, entryId, alt });
        }
        const kept = new Set(wanted.map(({ id }) => id));
        for (const photo of await listRows(tx, 'photo', photoColumns, dwellingId, 'id')) {
          if (photo.entryId === entryId && !kept.has(photo.id)) await removeRow(tx, 'photo', dwellingId, photo.id);
        }
      });
    },

    async removeLoosePhotos(dwellingId, addedBefore) {
      wholeTime('addedBefore', addedBefore);
      return db.inTurn(dwellingId, async (tx) => {
        const loose = await tx.all<{ id: number }>(
          'SELECT id FROM photo WHERE dwelling_id = $1 AND entry_id IS NULL AND added_at < $2 ORDER BY id',
          [dwellingId, addedBefore],
        );
        for (const { id } of loose) await removeRow(tx, 'photo', dwellingId, id);
        return loose.length;
      });
    },
  };
}
