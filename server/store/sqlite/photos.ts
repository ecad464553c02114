import { oneOf, wholeTime } from '../arguments.ts';
import { checkPhoto, noPhoto, photoColumns, refuseOfOther } from '../photo-rows.ts';
import { type Photo, type PhotoStore, photoSizes } from '../port.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { noteChange } from './journal.ts';
import { findRow, insertRow, listRows, requireDwelling, updateRow } from './rows.ts';

export function photoStore(db: Connection): PhotoStore {
  const nextId = idGiver(db);
  return {
    async photos(dwellingId) {
      return listRows(db, 'photo', photoColumns, dwellingId, 'id');
    },

    async addPhoto(photo, images) {
      checkPhoto(photo);
      return write(db, () => {
        requireDwelling(db, photo.dwellingId);
        const whole: Photo = { ...photo, id: nextId(photo.dwellingId, 'photo'), entryId: null, alt: '' };
        insertRow(db, 'photo', photoColumns, whole);
        const insert = db.prepare('INSERT INTO photo_image (dwelling_id, photo_id, size, jpeg) VALUES (?, ?, ?, ?)');
        for (const size of photoSizes) insert.run(whole.dwellingId, whole.id, size, images[size]);
        noteChange(db, 'photo', whole.dwellingId, whole.id);
        return whole;
      });
    },

    async photoImage(dwellingId, id, size) {
      oneOf('size', size, photoSizes);
      requireDwelling(db, dwellingId);
      const jpeg = db
        .prepare<[number, number, string], Uint8Array>(
          'SELECT jpeg FROM photo_image WHERE dwelling_id = ? AND photo_id = ? AND size = ?',
        )
        .pluck()
        .get(dwellingId, id, size);
      if (jpeg === undefined) throw noPhoto(dwellingId, id);
      return jpeg;
    },

    async setEntryPhotos(dwellingId, entryId, wanted) {
      write(db, () => {
        findRow(db, 'diary_entry', { id: 'id' }, dwellingId, entryId);
        for (const { id, alt } of wanted) {
          const photo = findRow(db, 'photo', photoColumns, dwellingId, id);
          refuseOfOther(photo, entryId);
          updateRow(db, 'photo', photoColumns, { ...photo, entryId, alt });
        }
        const kept = new Set(wanted.map(({ id }) => id));
        const remove = db.prepare('DELETE FROM photo WHERE dwelling_id = ? AND id = ?');
        for (const photo of listRows(db, 'photo', photoColumns, dwellingId, 'id')) {
          if (photo.entryId !== entryId || kept.has(photo.id)) continue;
          remove.run(dwellingId, photo.id);
          noteChange(db, 'photo', dwellingId, photo.id);
        }
      });
    },

    async removeLoosePhotos(dwellingId, addedBefore) {
      wholeTime('addedBefore', addedBefore);
      return write(db, () => {
        const gone = db
          .prepare<[number, number], number>(
            'DELETE FROM photo WHERE dwelling_id = ? AND entry_id IS NULL AND added_at < ? RETURNING id',
          )
          .pluck()
          .all(dwellingId, addedBefore);
        for (const id of gone) noteChange(db, 'photo', dwellingId, id);
        return gone.length;
      });
    },
  };
}
