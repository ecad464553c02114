import {
  chmodSync,
  closeSync,
  copyFileSync,
  existsSync,
  fsyncSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statfsSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import Database from 'better-sqlite3';
import { StoreError } from '../port.ts';
import type { Backup, BackupNote, BackupOrder, TableSum } from '../port-backup.ts';
import { claimBackupPath, folderOf, makeAsideFolder, UNFINISHED } from './backup-name.ts';
import { type Connection, toStoreError } from './database.ts';
import { migrations } from './migrations.ts';
import { tableSums } from './table-sums.ts';

/**
 * A backup is one SQLite file, readable by its owner alone: the database as it was at one moment, with two tables more.
 * `backup_note` says what the others hold, `backup_file` keeps the other files of the data folder.
 */
const OWN_TABLES = ['backup_note', 'backup_file'] as const;
const OWN_SCHEMA = `
  CREATE TABLE backup_note (note TEXT NOT NULL CHECK (json_valid(note))) STRICT;
  CREATE TABLE backup_file (name TEXT PRIMARY KEY, content BLOB NOT NULL) STRICT, WITHOUT ROWID;
`;

/** All pages at once: one moment of the store, however much is written meanwhile. */
const ALL_PAGES = 0x7fffffff;

const DAMAGED_ADVICE = 'Use another backup; this one is not to be trusted.';
const mib = (bytes: number): string => `${Math.ceil(bytes / (1 << 20))} MiB`;

/** What the operating system says of a path, as a fault that says what to do. */
export function toFileFault(error: unknown, doing: string, path: string): unknown {
  const code = (error as NodeJS.ErrnoException | null)?.code;
  if (code === 'ENOSPC' || code === 'EDQUOT' || code === 'SQLITE_FULL') {
    return new StoreError(
      'full',
      `${doing} ${path} failed: the disk is full. Free some space on it, or use another.`,
      error,
    );
  }
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') {
    return new StoreError(
      'read-only',
      `${doing} ${path} failed: this user may not write there. Give it the right to (chown, chmod u+rwx), mount the disk for writing, or choose another folder.`,
      error,
    );
  }
  if (code === 'ENOENT' || code === 'ENOTDIR') {
    return new StoreError('failed', `${doing} ${path} failed: there is no such file or folder. Check the path.`, error);
  }
  return toStoreError(error);
}

/** Makes what was written to a file or a folder durable. */
function sync(path: string): void {
  const file = openSync(path, 'r');
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

/** The new file or nothing, also when the power goes. */
function moveInto(from: string, to: string): void {
  sync(from);
  renameSync(from, to);
  sync(dirname(to));
}

function requireRoom(database: string, folder: string): void {
  const wal = `${database}-wal`;
  const wanted = statSync(database).size + (existsSync(wal) ? statSync(wal).size : 0);
  const { bavail, bsize } = statfsSync(folder);
  if (bavail * bsize >= wanted) return;
  throw new StoreError(
    'full',
    `The backup needs about ${mib(wanted)} in ${folder} and there are ${mib(bavail * bsize)}: free some space on that disk, keep fewer backups, or choose another folder.`,
  );
}

const different = (found: Record<string, TableSum>, wanted: Readonly<Record<string, TableSum>>): string[] =>
  [...new Set([...Object.keys(found), ...Object.keys(wanted)])].filter(
    (table) => found[table]?.rows !== wanted[table]?.rows || found[table]?.digest !== wanted[table]?.digest,
  );

function requireSound(db: Connection, path: string): void {
  const told = (db.pragma('integrity_check(5)') as Record<string, string>[]).flatMap((row) => Object.values(row));
  if (told.length === 1 && told[0] === 'ok') return;
  throw new StoreError('failed', `${path} is damaged: ${told.join('; ')}. ${DAMAGED_ADVICE}`);
}

function lastSeals(db: Connection): BackupNote['seals'] {
  if (db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'day_seal'").get() === undefined) return [];
  return db
    .prepare<[], BackupNote['seals'][number]>(
      `SELECT slug AS dwelling, day, entry FROM day_seal JOIN dwelling ON dwelling.id = dwelling_id
       WHERE (dwelling_id, day) IN (SELECT dwelling_id, max(day) FROM day_seal GROUP BY dwelling_id) ORDER BY dwelling_id`,
    )
    .all();
}

const readVersion = (db: Connection): number => db.pragma('user_version', { simple: true }) as number;

/**
 * Writes a backup of a database that may be in use, reads it back, and gives it its name only once it was found equal to
 * the store at the moment it was made. Reads everything twice: to be run in a process of its own.
 *
 * @throws StoreError with what to do; nothing is left behind then
 */
export async function writeBackup(order: BackupOrder, clock: () => number = Date.now): Promise<Backup> {
  const { database, beside, program } = order;
  const to = claimRoom(order);
  const part = `${to}${UNFINISHED}`;
  try {
    const madeAt = clock();
    const wanted = await copyMoment(database, part);
    const note = completeCopy(part, { madeAt, program, beside, wanted }, clock);
    moveInto(part, to);
    return { ...note, path: to, bytes: statSync(to).size };
  } catch (error) {
    for (const path of [part, `${part}-journal`, `${part}-wal`, `${part}-shm`]) rmSync(path, { force: true });
    throw toFileFault(error, 'Writing the backup', to);
  }
}

function claimRoom({ database, to }: BackupOrder): string {
  try {
    requireRoom(database, folderOf(to));
    return claimBackupPath(to);
  } catch (error) {
    throw toFileFault(error, 'Writing the backup', 'file' in to ? to.file : to.folder);
  }
}

/** Copies one moment of the database, and sums that same moment up. */
async function copyMoment(database: string, part: string): Promise<Record<string, TableSum>> {
  const source = new Database(database, { readonly: true, fileMustExist: true });
  try {
    source.exec('BEGIN');
    // the first read fixes the moment that this connection sees; the copy is of the same transaction
    const wanted = tableSums(source);
    await source.backup(part, { progress: () => ALL_PAGES });
    source.exec('COMMIT');
    return wanted;
  } finally {
    source.close();
  }
}

function completeCopy(
  part: string,
  given: Pick<BackupNote, 'madeAt' | 'program'> & {
    readonly beside: readonly string[];
    readonly wanted: Record<string, TableSum>;
  },
  clock: () => number,
): BackupNote {
  const copy = new Database(part, { fileMustExist: true });
  try {
    // one file that can be carried away, without a log beside it
    copy.pragma('journal_mode = DELETE');
    requireSound(copy, part);
    const wrong = different(tableSums(copy), given.wanted);
    if (wrong.length > 0) {
      throw new StoreError(
        'failed',
        `The backup does not hold what the database held (${wrong.join(', ')}): try again, and have the disk checked.`,
      );
    }
    const files = given.beside.filter((path) => existsSync(path));
    const note: BackupNote = {
      madeAt: given.madeAt,
      verifiedAt: clock(),
      program: given.program,
      schemaVersion: readVersion(copy),
      readings: given.wanted.reading?.rows ?? 0,
      tables: given.wanted,
      seals: lastSeals(copy),
      files: files.map((path) => basename(path)),
    };
    copy.transaction(() => {
      copy.exec(OWN_SCHEMA);
      const keep = copy.prepare('INSERT INTO backup_file VALUES (?, ?)');
      for (const path of files) keep.run(basename(path), readFileSync(path));
      copy.prepare('INSERT INTO backup_note VALUES (?)').run(JSON.stringify(note));
    })();
    return note;
  } finally {
    copy.close();
  }
}

/**
 * Reads a backup through and holds it to what it says of itself.
 *
 * @throws StoreError `newer-schema` where a newer program is needed, else `failed`: it is damaged, or no backup
 */
export function checkBackup(path: string): Backup {
  try {
    const db = new Database(path, { readonly: true, fileMustExist: true });
    try {
      if (db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'backup_note'").get() === undefined) {
        throw new StoreError('failed', `${path} is no backup of this program: check the path.`);
      }
      const version = readVersion(db);
      if (version > migrations.length) {
        throw new StoreError(
          'newer-schema',
          `${path} was made by a newer version of the program (schema ${version}; this one knows ${migrations.length}): install that version and restore it with it.`,
        );
      }
      requireSound(db, path);
      const note = JSON.parse(
        db.prepare<[], string>('SELECT note FROM backup_note').pluck().get() ?? '{}',
      ) as BackupNote;
      const wrong = different(tableSums(db, OWN_TABLES), note.tables);
      if (wrong.length > 0) {
        throw new StoreError(
          'failed',
          `${path} is damaged: ${wrong.join(', ')} ${wrong.length === 1 ? 'differs' : 'differ'} from what was backed up. ${DAMAGED_ADVICE}`,
        );
      }
      return { ...note, path, bytes: statSync(path).size };
    } finally {
      db.close();
    }
  } catch (error) {
    const fault = toFileFault(error, 'Reading the backup', path);
    if (fault instanceof StoreError && !fault.message.includes(path)) {
      throw new StoreError(fault.fault, `${path} cannot be used: ${fault.message} ${DAMAGED_ADVICE}`, error);
    }
    throw fault;
  }
}

export interface RestoreOrder {
  readonly from: string;
  readonly dataFolder: string;
  readonly databaseName: string;
  /** what to do with what is in the folder */
  readonly present: 'refuse' | 'set-aside';
}

export interface Restored {
  readonly backup: Backup;
  /** folder that holds what was there before; null: nothing was */
  readonly setAside: string | null;
  /** links to reports that were in use when it was made; their packs are in no backup, so they lead nowhere now */
  readonly lostLinks: number;
}

/**
 * Puts a backup into a data folder: checked before, moved in as a whole, checked after. What was there is moved into a
 * folder beside it and never deleted.
 *
 * @throws StoreError `already-there` where the folder holds data, `busy` where a running program uses it
 */
export function restoreBackup(order: RestoreOrder, clock: () => number = Date.now): Restored {
  const { dataFolder, databaseName } = order;
  const database = join(dataFolder, databaseName);
  const backup = checkBackup(order.from);
  const part = `${database}${UNFINISHED}`;
  try {
    const isPresent = (name: string): boolean => !name.startsWith('set-aside-') && !name.endsWith(UNFINISHED);
    if (order.present === 'refuse' && readdirSync(dataFolder).some(isPresent)) {
      throw new StoreError(
        'already-there',
        `${dataFolder} is not empty: restore into an empty folder (--data), or say --replace; what is there is then moved aside, not deleted.`,
      );
    }
    if (existsSync(database)) requireUnused(database);
    const present = readdirSync(dataFolder).filter(isPresent);
    copyFileSync(order.from, part);
    chmodSync(part, 0o600);
    const files = stripNote(part);
    const setAside = present.length === 0 ? null : moveAside(dataFolder, present, clock());
    for (const { name, content } of files) writeFileSync(join(dataFolder, basename(name)), content, { mode: 0o600 });
    moveInto(part, database);
    return { backup, setAside, lostLinks: requireSame(database, backup, clock()) };
  } catch (error) {
    rmSync(part, { force: true });
    throw toFileFault(error, 'Restoring into', dataFolder);
  }
}

/** Only one who has the database alone can take its log away. */
function requireUnused(database: string): void {
  try {
    const db = new Database(database, { timeout: 500 });
    try {
      db.pragma('journal_mode = DELETE');
    } finally {
      db.close();
    }
  } catch (error) {
    const fault = toStoreError(error);
    // a damaged file is what one restores a backup for
    if (!(fault instanceof StoreError) || fault.fault !== 'busy') return;
    throw new StoreError('busy', `A running program uses ${database}: stop it first.`, error);
  }
}

function stripNote(path: string): { name: string; content: Buffer }[] {
  const db = new Database(path, { fileMustExist: true });
  try {
    const files = db.prepare<[], { name: string; content: Buffer }>('SELECT name, content FROM backup_file').all();
    for (const table of OWN_TABLES) db.exec(`DROP TABLE ${table}`);
    return files;
  } finally {
    db.close();
  }
}

function moveAside(dataFolder: string, present: readonly string[], now: number): string {
  const aside = makeAsideFolder(dataFolder, now);
  for (const name of present) renameSync(join(dataFolder, name), join(aside, name));
  sync(dataFolder);
  return aside;
}

/** @returns links to reports that are in use at `now` */
function requireSame(database: string, backup: Backup, now: number): number {
  const db = new Database(database, { readonly: true, fileMustExist: true });
  try {
    requireSound(db, database);
    const wrong = different(tableSums(db), backup.tables);
    if (wrong.length === 0) return linksInUse(db, now);
    throw new StoreError(
      'failed',
      `What was restored differs from the backup (${wrong.join(', ')}): have the disk checked, and try again.`,
    );
  } finally {
    db.close();
  }
}

function linksInUse(db: Connection, now: number): number {
  if (db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'share_link'").get() === undefined) return 0;
  const count = db.prepare<[number], number>(
    'SELECT count(*) FROM share_link WHERE revoked_at IS NULL AND expires_at > ?',
  );
  return count.pluck().get(now)!;
}
