import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';

const mount = (folder: string, kib: number): void => {
  execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${kib}k`, 'coomb-test', folder], { stdio: 'ignore' });
};
const unmount = (folder: string): void => {
  execFileSync('umount', ['-l', folder], { stdio: 'ignore' });
  rmdirSync(folder);
};
const newFolder = (): string => mkdtempSync(join(tmpdir(), 'coomb-small-disk-'));

/** Whether this user may mount a disk of its own; where not, says what is left out. */
export const smallDisksWork: boolean = (() => {
  const folder = newFolder();
  try {
    mount(folder, 64);
  } catch {
    rmdirSync(folder);
    console.warn(
      'LEFT OUT: tests on a disk that is really full, for this user may not mount one (run them as root on Linux)',
    );
    return false;
  }
  unmount(folder);
  return true;
})();

/** A disk of so many KiB, gone after the test. */
export function mountSmallDisk(kib: number): string {
  const folder = newFolder();
  mount(folder, kib);
  onTestFinished(() => unmount(folder));
  return folder;
}

/** Takes all the room that is left on a disk; gives what takes it back. */
export function fillDisk(folder: string): () => void {
  const filler = join(folder, 'filler');
  // in ever smaller pieces
  for (let size = 1 << 20; size >= 512; size >>= 1) {
    try {
      for (;;) writeFileSync(filler, Buffer.alloc(size, 1), { flag: 'a' });
    } catch {
      // no room for a piece of this size
    }
  }
  return () => rmSync(filler, { force: true });
}
