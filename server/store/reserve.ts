import { closeSync, fsyncSync, openSync, rmSync, statfsSync, statSync, writeSync } from 'node:fs';
import { dirname } from 'node:path';

/** Space kept aside on the disk of the database, so that word of a full disk can still be written down and sent. */
export interface Reserve {
  /** Gives the space back to the disk. */
  release(): void;
  /** Keeps it aside again, where there is plenty. */
  keep(): void;
  /** Whether the disk has room enough to go on: more than a moment's worth. */
  isRoomy(): boolean;
}

/** What a notice and its messages take in a few homes, with the database's own overhead. */
const RESERVE_BYTES = 512 << 10;
/** Storing goes on from so much free space on; with less it would stop again at once. */
const ROOM_BYTES = 2 << 20;

/** @param path file beside the database; it holds nothing */
export function reserveAt(path: string): Reserve {
  const free = (): number => {
    const { bavail, bsize } = statfsSync(dirname(path));
    return bavail * bsize;
  };
  return {
    release: () => rmSync(path, { force: true }),
    keep() {
      if (statSync(path, { throwIfNoEntry: false })?.size === RESERVE_BYTES) return;
      if (free() < ROOM_BYTES + RESERVE_BYTES) return;
      const file = openSync(path, 'w', 0o600);
      try {
        // not zeros: a file system may keep those without taking space for them
        writeSync(file, Buffer.alloc(RESERVE_BYTES, 'kept aside for word of a full disk '));
        fsyncSync(file);
      } finally {
        closeSync(file);
      }
    },
    isRoomy: () => free() >= ROOM_BYTES,
  };
}
