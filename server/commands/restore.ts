import { mkdirSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import { Command } from 'commander';
import { readConfig } from '../config.ts';
import { storePlace } from '../main.ts';
import { requireFile, restoreElsewhere } from '../store/engine.ts';
import { restoreBackup, toFileFault } from '../store/sqlite/backup.ts';

export function restoreCommand(): Command {
  return new Command('restore')
    .description('put a backup into an empty data folder; it is checked before and after')
    .requiredOption('--from <file>', 'the backup')
    .option('--data <folder>', 'data folder, in the place of the one in the settings')
    .option('--replace', 'also where the folder holds data: that is moved aside, never deleted')
    .action((options: { from: string; data?: string; replace?: true }) => {
      const config = readConfig(process.env, options.data === undefined ? {} : { dataFolder: options.data });
      const file = requireFile(storePlace(config), restoreElsewhere);
      const dataFolder = resolve(config.dataFolder);
      try {
        mkdirSync(dataFolder, { recursive: true });
      } catch (error) {
        throw toFileFault(error, 'Making the folder', dataFolder);
      }
      const { backup, setAside, lostLinks } = restoreBackup({
        from: resolve(options.from),
        dataFolder,
        databaseName: basename(file),
        present: options.replace ? 'set-aside' : 'refuse',
      });
      const made = new Date(backup.madeAt).toISOString();
      process.stdout.write(
        `Restored and verified: ${backup.readings.toLocaleString('en-GB')} readings as of ${made}, in ${dataFolder}\n` +
          (setAside === null ? '' : `What was there before is in ${setAside}\n`) +
          'Passphrases, passwords of devices and who may see what are as they were then.\n' +
          (lostLinks === 0
            ? ''
            : `Links to reports that lead nowhere now, for shared packs are in no backup: ${lostLinks}. Make the packs and share them anew.\n`) +
          'Now start coomb.\n',
      );
    });
}
