import { existsSync, mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { StoreError } from '../port.ts';
import type { BackupDestination } from '../port-backup.ts';

/** Names of a backup that is not finished end in this. */
export const UNFINISHED = '.part';

const NAME = /^coomb-(\d{4}-\d\d-\d\d)T(\d\d)-(\d\d)-(\d\d)Z(?:-(\d+))?\.backup$/;

/** A moment as part of a name, to the second; then numbered, for two things may be made within one. */
function* momentNames(time: number): Generator<string> {
  const second = `${new Date(time).toISOString().slice(0, 19).replaceAll(':', '-')}Z`;
  yield second;
  for (let nth = 2; ; nth++) yield `${second}-${nth}`;
}

/** The moment a finished backup is named for, UTC ms, and which of that second it is; null: no name of ours. */
export function readBackupName(name: string): { readonly at: number; readonly nth: number } | null {
  const [, day, hour, minute, second, nth = '1'] = NAME.exec(name) ?? [];
  return day === undefined ? null : { at: Date.parse(`${day}T${hour}:${minute}:${second}Z`), nth: Number(nth) };
}

export const isUnfinishedBackup = (name: string): boolean =>
  name.startsWith('coomb-') && name.includes(`.backup${UNFINISHED}`);

export const folderOf = (to: BackupDestination): string => ('folder' in to ? to.folder : dirname(to.file));

function* pathsFor(to: BackupDestination): Generator<string> {
  if ('file' in to) yield to.file;
  else for (const name of momentNames(to.moment)) yield join(to.folder, `coomb-${name}.backup`);
}

/** Makes a file or folder that nobody has. @returns false: somebody has it */
function isMade(make: () => void): boolean {
  try {
    make();
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  }
}

/**
 * The path a backup will have, with its unfinished file made. Only who made the unfinished file gives that name, so that of two
 * backups of one second, whatever processes they come from, the second takes the next name.
 *
 * @throws StoreError `already-there` where a file was named and somebody has it
 */
export function claimBackupPath(to: BackupDestination): string {
  for (const path of pathsFor(to)) {
    const part = `${path}${UNFINISHED}`;
    // its rights from the beginning, so that it is never readable by others, not even for a moment
    if (existsSync(path) || !isMade(() => writeFileSync(part, '', { mode: 0o600, flag: 'wx' }))) continue;
    if (!existsSync(path)) return path;
    // finished by another between the two looks
    rmSync(part);
  }
  const file = 'file' in to ? to.file : to.folder;
  throw new StoreError(
    'already-there',
    existsSync(file)
      ? `${file} is there already: name another file.`
      : `${file}${UNFINISHED} is there already: another backup is being written there. Name another file, or remove that one if it was broken off.`,
  );
}

/** Makes the folder into which what was in a data folder is moved. */
export function makeAsideFolder(dataFolder: string, now: number): string {
  for (const name of momentNames(now)) {
    const aside = join(dataFolder, `set-aside-${name}`);
    if (isMade(() => mkdirSync(aside, { mode: 0o700 }))) return aside;
  }
  throw new RangeError('there is always a next name');
}
