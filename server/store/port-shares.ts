/** A link that shows one report to whoever holds it, until it expires or is taken back. */
export interface ShareLink {
  readonly id: number;
  readonly dwellingId: number;
  /** SHA-256 of the token in the link, hexadecimal; the token itself is known to who was given it */
  readonly tokenHash: string;
  /** who it is for, in the owner's words */
  readonly label: string;
  /** name under which the pack is saved by who opens the link */
  readonly fileName: string;
  readonly createdAt: number;
  readonly expiresAt: number;
  /** null: in use */
  readonly revokedAt: number | null;
  /** how often it was opened, and when last */
  readonly opened: number;
  readonly openedAt: number | null;
}

export interface ShareStore {
  /** All ever made, in order of id. */
  shareLinks(dwellingId: number): Promise<ShareLink[]>;
  addShareLink(link: Omit<ShareLink, 'id' | 'revokedAt' | 'opened' | 'openedAt'>): Promise<ShareLink>;
  /** By the digest of its token, in any dwelling; expired and revoked ones too. */
  findShareLink(tokenHash: string): Promise<ShareLink | null>;
  /** A link that is revoked already keeps its first time. */
  revokeShareLink(dwellingId: number, id: number, at: number): Promise<ShareLink>;
  noteShareOpened(dwellingId: number, id: number, at: number): Promise<void>;
}
