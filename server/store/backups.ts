import { type ChildProcess, fork } from 'node:child_process';
import { mkdirSync, readdirSync, rmSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { endedWords } from '../processes/ended-words.ts';
import type { BackupReply } from './backup-process.ts';
import { backupElsewhere, requireFile, type StorePlace } from './engine.ts';
import { StoreError } from './port.ts';
import type { Backup, BackupOrder } from './port-backup.ts';
import { toFileFault } from './sqlite/backup.ts';
import { isUnfinishedBackup, readBackupName } from './sqlite/backup-name.ts';

export interface BackupSettings {
  /** null: none are made by themselves */
  readonly folder: string | null;
  readonly everyHours: number;
  /** how many stay; the oldest go first */
  readonly keep: number;
}

/** A finished backup in the folder. Only one that was verified has such a name. */
export interface ListedBackup {
  readonly name: string;
  readonly path: string;
  readonly at: number;
  readonly bytes: number;
}

export interface BackupsState {
  readonly settings: BackupSettings;
  readonly running: boolean;
  /** of the last backup that was tried by this program; null: it worked, or none was tried */
  readonly lastFailure: { readonly at: number; readonly message: string } | null;
  /** readings are in a database on a server: none are made here, see {@link backupElsewhere} */
  readonly elsewhere: boolean;
  /** the folder is on the disk of the database */
  readonly sameDisk: boolean;
}

export interface Backups {
  /** Makes one now and takes surplus ones away; a second call meanwhile gives the same one. */
  make(): Promise<Backup>;
  /** Newest first. */
  list(): ListedBackup[];
  state(): BackupsState;
  /** UTC ms of the newest; null: there is none */
  newestAt(): number | null;
  /** What is wrong with them, in words; empty: nothing. */
  reasons(): string[];
  close(): Promise<void>;
}

interface Log {
  info(detail: object, message: string): void;
  error(detail: object, message: string): void;
}

export interface BackupsParts {
  readonly place: StorePlace;
  /** files beside the database that belong in a backup */
  readonly beside: readonly string[];
  readonly program: string;
  readonly settings: BackupSettings;
  readonly clock: () => number;
  readonly log: Log;
}

const HOUR_MS = 3_600_000;
const LOOK_EVERY_MS = 5 * 60_000;
const RETRY_MS = HOUR_MS;
/** A name from further ahead than this was given by a clock that was wrong. */
const AHEAD_MS = HOUR_MS;

/** Nothing is written to an unfinished backup for this long, unless it was broken off. */
const BROKEN_OFF_MS = HOUR_MS;

const fromSource = import.meta.url.endsWith('.ts');
const script = fileURLToPath(new URL(fromSource ? './backup-process.ts' : './backup-process.js', import.meta.url));

/** Finished backups in a folder, newest first. */
export function listBackups(folder: string): ListedBackup[] {
  let names: string[];
  try {
    names = readdirSync(folder);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw toFileFault(error, 'Reading the folder of backups', folder);
  }
  return names
    .flatMap((name) => {
      const named = readBackupName(name);
      const path = join(folder, name);
      return named === null ? [] : [{ ...named, name, path, bytes: statSync(path).size }];
    })
    .sort((a, b) => b.at - a.at || b.nth - a.nth)
    .map(({ name, path, at, bytes }) => ({ name, path, at, bytes }));
}

/** Makes backups in a process of its own, on order and on schedule, and keeps as many as wanted. */
export function createBackups({ place, beside, program, settings, clock, log }: BackupsParts): Backups {
  let child: ChildProcess | null = null;
  let running: Promise<Backup> | null = null;
  let lastFailure: BackupsState['lastFailure'] = null;
  let closing = false;
  const beganAt = clock();
  const { everyHours, keep } = settings;
  // a database on a server has tools of its own
  const folder = place.engine === 'sqlite' ? settings.folder : null;
  if (settings.folder !== folder) log.error({}, `no backups are made into COOMB_BACKUP_FOLDER. ${backupElsewhere}`);

  function carryOut(order: BackupOrder): Promise<Backup> {
    const own = fork(script, { execArgv: fromSource ? ['--import', 'tsx'] : [] });
    child = own;
    return new Promise((resolve, reject) => {
      own.once('message', (reply: BackupReply) => {
        if (reply.kind === 'done') resolve(reply.backup);
        else reject(new StoreError(reply.fault, reply.message));
      });
      own.once('error', reject);
      own.once('exit', (code, signal) => {
        // by then the next one may be under way
        if (child === own) child = null;
        reject(new StoreError('failed', `The backup was broken off: ${endedWords(code, signal)}. Try again.`));
      });
      own.send(order);
    });
  }

  function prepareFolder(into: string): void {
    try {
      mkdirSync(into, { recursive: true, mode: 0o700 });
      for (const name of readdirSync(into).filter(isUnfinishedBackup)) {
        // one that is being written belongs to a command, or to another program
        const written = statSync(join(into, name), { throwIfNoEntry: false })?.mtimeMs ?? Date.now();
        if (Date.now() - written >= BROKEN_OFF_MS) rmSync(join(into, name), { force: true });
      }
    } catch (error) {
      throw toFileFault(error, 'Making the folder of backups', into);
    }
  }

  async function makeOne(): Promise<Backup> {
    const database = requireFile(place, backupElsewhere);
    if (folder === null) {
      throw new StoreError('not-found', 'No folder for backups is set: set COOMB_BACKUP_FOLDER, and restart coomb.');
    }
    try {
      prepareFolder(folder);
      const backup = await carryOut({ database, beside, program, to: { folder, moment: clock() } });
      for (const { path } of listBackups(folder).slice(keep)) rmSync(path);
      lastFailure = null;
      log.info({ file: backup.path, bytes: backup.bytes, readings: backup.readings }, 'a backup was made and verified');
      return backup;
    } catch (error) {
      if (!closing) {
        lastFailure = { at: clock(), message: (error as Error).message };
        log.error({ err: error }, 'no backup could be made');
      }
      throw error;
    }
  }

  function make(): Promise<Backup> {
    running ??= makeOne().finally(() => {
      running = null;
    });
    return running;
  }

  function newestAt(): number | null {
    if (folder === null) return null;
    try {
      return listBackups(folder).find(({ at }) => at <= clock() + AHEAD_MS)?.at ?? null;
    } catch {
      return null;
    }
  }

  function lookWhetherDue(): void {
    const now = clock();
    if (lastFailure !== null && now >= lastFailure.at && now - lastFailure.at < RETRY_MS) return;
    const newest = newestAt();
    if (newest === null || now - newest >= everyHours * HOUR_MS) make().catch(() => undefined);
  }

  const timer = folder === null ? null : setInterval(lookWhetherDue, LOOK_EVERY_MS);
  timer?.unref();
  if (folder !== null) lookWhetherDue();

  return {
    make,
    list: () => (folder === null ? [] : listBackups(folder)),
    newestAt,
    state: () => ({
      settings: { ...settings, folder },
      elsewhere: place.engine !== 'sqlite',
      running: running !== null,
      lastFailure,
      sameDisk: folder !== null && place.engine === 'sqlite' && onSameDisk(folder, place.file),
    }),
    reasons() {
      if (folder === null) return [];
      const failed = lastFailure === null ? [] : [`no backup could be made: ${lastFailure.message}`];
      const hours = (clock() - (newestAt() ?? beganAt)) / HOUR_MS;
      const old =
        hours > 2 * everyHours
          ? [`the last backup is ${Math.floor(hours)} hours old, and one is due every ${everyHours}`]
          : [];
      return [...failed, ...old];
    },
    async close() {
      closing = true;
      if (timer !== null) clearInterval(timer);
      child?.kill('SIGKILL');
      await running?.catch(() => undefined);
    },
  };
}

function onSameDisk(folder: string, database: string): boolean {
  try {
    return statSync(folder).dev === statSync(dirname(database)).dev;
  } catch {
    return false;
  }
}
