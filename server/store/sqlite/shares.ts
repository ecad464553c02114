import { filled, wholeTime } from '../arguments.ts';
import type { ShareLink, ShareStore } from '../port.ts';
import { type Columns, selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, listRows, requireDwelling, updateRow } from './rows.ts';

const columns: Columns<ShareLink> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  tokenHash: 'token_hash',
  label: 'label',
  fileName: 'file_name',
  createdAt: 'created_at',
  expiresAt: 'expires_at',
  revokedAt: 'revoked_at',
  opened: 'opened',
  openedAt: 'opened_at',
};

export function shareStore(db: Connection): ShareStore {
  const nextId = idGiver(db);
  const byToken = db.prepare<[string], ShareLink>(`SELECT ${selectList(columns)} FROM share_link WHERE token_hash = ?`);
  const note = db.prepare('UPDATE share_link SET opened = opened + 1, opened_at = ? WHERE dwelling_id = ? AND id = ?');
  return {
    async shareLinks(dwellingId) {
      return listRows(db, 'share_link', columns, dwellingId, 'id');
    },
    async addShareLink(link) {
      filled('tokenHash', link.tokenHash);
      filled('label', link.label);
      wholeTime('createdAt', link.createdAt);
      wholeTime('expiresAt', link.expiresAt);
      return write(db, () => {
        requireDwelling(db, link.dwellingId);
        const added = {
          ...link,
          id: nextId(link.dwellingId, 'share_link'),
          revokedAt: null,
          opened: 0,
          openedAt: null,
        };
        insertRow(db, 'share_link', columns, added);
        return added;
      });
    },
    async findShareLink(tokenHash) {
      return byToken.get(tokenHash) ?? null;
    },
    async revokeShareLink(dwellingId, id, at) {
      return write(db, () => {
        const link = findRow(db, 'share_link', columns, dwellingId, id);
        const revoked = { ...link, revokedAt: link.revokedAt ?? wholeTime('at', at) };
        updateRow(db, 'share_link', columns, revoked);
        return revoked;
      });
    },
    async noteShareOpened(dwellingId, id, at) {
      write(db, () => note.run(wholeTime('at', at), dwellingId, id));
    },
  };
}
