import { wholeTime } from './arguments.ts';
import { type Photo, StoreError } from './port.ts';
import type { Columns } from './row-columns.ts';

export const photoColumns: Columns<Photo> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  entryId: 'entry_id',
  alt: 'alt',
  takenAt: 'taken_at',
  sha256: 'sha256',
  width: 'width',
  height: 'height',
  addedAt: 'added_at',
};

export function checkPhoto({ addedAt, takenAt, sha256 }: Omit<Photo, 'id' | 'entryId' | 'alt'>): void {
  wholeTime('addedAt', addedAt);
  if (takenAt !== null) wholeTime('takenAt', takenAt);
  if (!/^[0-9a-f]{64}$/.test(sha256)) {
    throw new RangeError(`sha256 is '${sha256}'; it must be 64 hexadecimal digits`);
  }
}

/** @throws StoreError `already-there` when the photo belongs to another entry */
export function refuseOfOther({ id, entryId }: Photo, wantedBy: number): void {
  if (entryId === null || entryId === wantedBy) return;
  throw new StoreError('already-there', `Photo ${id} belongs to another entry.`);
}

export const noPhoto = (dwellingId: number, id: number): StoreError =>
  new StoreError('not-found', `Dwelling ${dwellingId} has no photo ${id}.`);
