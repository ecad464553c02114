import { existsSync, mkdirSync, statSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { Command } from 'commander';
import { type Config, readConfig } from '../config.ts';
import { filesBeside, storePlace, version } from '../main.ts';
import { backupElsewhere, requireFile } from '../store/engine.ts';
import type { StoreError } from '../store/port.ts';
import type { BackupDestination } from '../store/port-backup.ts';
import { toFileFault, writeBackup } from '../store/sqlite/backup.ts';

export function backupCommand(): Command {
  return new Command('backup')
    .description('write a verified backup of everything in the data folder, also while coomb runs')
    .option('--out <folder or file>', 'where to; the default is the folder of backups in the settings')
    .option('--data <folder>', 'data folder, in the place of the one in the settings')
    .action(async (options: { out?: string; data?: string }) => {
      const config = readConfig(process.env, options.data === undefined ? {} : { dataFolder: options.data });
      const database = requireFile(storePlace(config), backupElsewhere);
      if (!existsSync(database)) {
        throw new RangeError(`There is no database in ${config.dataFolder}: name its folder with --data.`);
      }
      const to = destination(options.out ?? wantedFolder(config), options.out === undefined);
      const backup = await writeBackup({ database, beside: filesBeside(config), to, program: version });
      const readings = backup.readings.toLocaleString('en-GB');
      process.stdout.write(
        `Backed up and verified: ${readings} readings, ${(backup.bytes / (1 << 20)).toFixed(1)} MiB, in ${backup.path}\n` +
          (backup.files.length === 0
            ? ''
            : `It holds the key that signs evidence packs (${backup.files.join(', ')}): whoever has this file can sign in your name. Keep it where only you can read it.\n`),
      );
    });
}

function wantedFolder({ backupFolder }: Config): string {
  if (backupFolder !== undefined) return backupFolder;
  throw new RangeError('Say where to: --out FOLDER, or set COOMB_BACKUP_FOLDER.');
}

/** A folder that is there, or a name with a slash at its end, takes a file named by the time. */
function destination(out: string, isFolder: boolean): BackupDestination {
  const path = resolve(out);
  const folder = isFolder || out.endsWith('/') || (existsSync(path) && statSync(path).isDirectory());
  try {
    mkdirSync(folder ? path : dirname(path), { recursive: true });
  } catch (error) {
    throw toFileFault(error, 'Making the folder', path) as StoreError;
  }
  return folder ? { folder: path, moment: Date.now() } : { file: path };
}
