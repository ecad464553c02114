import { execFile, execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { Members } from './bag.ts';

/** Whether the script in a pack can be run here. */
export const python = (() => {
  try {
    execFileSync('python3', ['--version'], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
})();
if (!python) console.warn('LEFT OUT: checking packs with Python, for there is no python3 (apt-get install python3)');

/** Writes the members of a pack into a folder, and gives it back. */
export function unpackTo(root: string, members: Members): string {
  for (const [path, bytes] of members) {
    const file = join(root, ...path.split('/'));
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, bytes);
  }
  return root;
}

/** Runs the script that is in an unpacked pack. */
export const checkPy = (root: string): Promise<{ code: number; out: string }> =>
  new Promise((resolve) => {
    execFile('python3', [join(root, 'check.py')], { maxBuffer: 64 << 20 }, (error, stdout, stderr) =>
      resolve({ code: error === null ? 0 : Number(error.code ?? 1), out: stdout + stderr }),
    );
  });
