import { wholeTime } from '../arguments.ts';
import type { ShareLink, ShareStore } from '../port.ts';
import { selectList } from '../row-columns.ts';
import { checkShareLink, newShareLink, shareColumns } from '../share-rows.ts';
import type { Database } from './database.ts';
import { nextId } from './ids.ts';
import { findRow, insertRow, listRows, updateRow } from './rows.ts';

export function shareStore(db: Database): ShareStore {
  return {
    async shareLinks(dwellingId) {
      return listRows(db, 'share_link', shareColumns, dwellingId, 'id');
    },

    async addShareLink(link) {
      checkShareLink(link);
      return db.inTurn(link.dwellingId, async (tx) => {
        const added = newShareLink(link, await nextId(tx, link.dwellingId, 'share_link'));
        await insertRow(tx, 'share_link', shareColumns, added);
        return added;
      });
    },

    async findShareLink(tokenHash) {
      const found = await db.first<ShareLink>(
        `SELECT ${selectList(shareColumns)} FROM share_link WHERE token_hash = $1`,
        [tokenHash],
      );
      return found ?? null;
    },

    async revokeShareLink(dwellingId, id, at) {
      return db.inTurn(dwellingId, async (tx) => {
        const link = await findRow(tx, 'share_link', shareColumns, dwellingId, id);
        const revoked = { ...link, revokedAt: link.revokedAt ?? wholeTime('at', at) };
        await updateRow(tx, 'share_link', shareColumns, revoked);
        return revoked;
      });
    },

    async noteShareOpened(dwellingId, id, at) {
      wholeTime('at', at);
      await db.inTurn(dwellingId, (tx) =>
        tx.run('UPDATE share_link SET opened = opened + 1, opened_at = $3 WHERE dwelling_id = $1 AND id = $2', [
          dwellingId,
          id,
          at,
        ]),
      );
    },
  };
}
