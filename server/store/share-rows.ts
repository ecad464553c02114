import { filled, wholeTime } from './arguments.ts';
import type { ShareLink } from './port.ts';
import type { Columns } from './row-columns.ts';

export const shareColumns: Columns<ShareLink> = {
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

type NewLink = Omit<ShareLink, 'id' | 'revokedAt' | 'opened' | 'openedAt'>;

export function checkShareLink({ tokenHash, label, createdAt, expiresAt }: NewLink): void {
  filled('tokenHash', tokenHash);
  filled('label', label);
  wholeTime('createdAt', createdAt);
  wholeTime('expiresAt', expiresAt);
}

/** A link that nobody has opened yet. */
export const newShareLink = (link: NewLink, id: number): ShareLink => ({
  ...link,
  id,
  revokedAt: null,
  opened: 0,
  openedAt: null,
});
