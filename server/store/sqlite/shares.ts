import { wholeTime } from '../arguments.ts';
import type { ShareLink, ShareStore } from '../port.ts';
import { selectList } from '../row-columns.ts';
import { checkShareLink, newShareLink, shareColumns } from '../share-rows.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, listRows, requireDwelling, updateRow } from './rows.ts';

export function shareStore(db: Connection): ShareStore {
  const nextId = idGiver(db);
  const byToken = db.prepare<[string], ShareLink>(
    `SELECT ${selectList(shareColumns)} FROM share_link WHERE token_hash = ?`,
  );
  const note = db.prepare('UPDATE share_link SET opened = opened + 1, opened_at = ? WHERE dwelling_id = ? AND id = ?');
  return {
    async shareLinks(dwellingId) {
      return listRows(db, 'share_link', shareColumns, dwellingId, 'id');
    },
    async addShareLink(link) {
      checkShareLink(link);
      return write(db, () => {
        requireDwelling(db, link.dwellingId);
        const added = newShareLink(link, nextId(link.dwellingId, 'share_link'));
        insertRow(db, 'share_link', shareColumns, added);
        return added;
      });
    },
    async findShareLink(tokenHash) {
      return byToken.get(tokenHash) ?? null;
    },
    async revokeShareLink(dwellingId, id, at) {
      return write(db, () => {
        const link = findRow(db, 'share_link', shareColumns, dwellingId, id);
        const revoked = { ...link, revokedAt: link.revokedAt ?? wholeTime('at', at) };
        updateRow(db, 'share_link', shareColumns, revoked);
        return revoked;
      });
    },
    async noteShareOpened(dwellingId, id, at) {
      write(db, () => note.run(wholeTime('at', at), dwellingId, id));
    },
  };
}
