import { createWriteStream, existsSync } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { Command, Option } from 'commander';
import {
  type ExportedKind,
  type ExportFormatName,
  exportedKinds,
  exportFormatNames,
} from '../analysis/export-vocabulary.ts';
import { readConfig } from '../config.ts';
import { exportFormats } from '../evidence/export/formats.ts';
import { withExported } from '../evidence/export/tables.ts';
import { openStore } from '../main.ts';
import { dwellingOf, instantOf } from './evidence.ts';

interface Options {
  readonly data?: string;
  readonly dwelling?: string;
  readonly from?: string;
  readonly to?: string;
  readonly what: ExportedKind;
  readonly format: ExportFormatName;
  readonly out: string;
}

const help = `
csv      RFC 4180 in UTF-8; unknown is an empty cell; a text that a spreadsheet could take for a formula is written as a
         JSON string
json     JSON Lines: one object a line; unknown is null
parquet  Apache Parquet; unknown is null
The columns are the same in all three; their names end in the unit. Instants are UTC. Readings are as they came, before any
correction; hours are corrected.`;

/** `coomb export --out FILE`: readings or hour records as one file. */
export function exportCommand(): Command {
  return new Command('export')
    .description('write readings or hour records to a file for other programs')
    .requiredOption('--out <file>', 'file to write; there must be none of that name')
    .option('--dwelling <slug>', 'may be left out where there is only one')
    .option('--from <time>', 'where to begin (default: the first there is)')
    .option('--to <time>', 'where to end, excluded (default: the last there is)')
    .addOption(
      new Option('--what <rows>', 'what to write')
        .choices([...exportedKinds])
        .default('readings' satisfies ExportedKind),
    )
    .addOption(
      new Option('--format <format>', 'of the file')
        .choices([...exportFormatNames])
        .default('csv' satisfies ExportFormatName),
    )
    .option('--data <folder>', 'folder of the database')
    .addHelpText('after', help)
    .action(run);
}

async function run(options: Options): Promise<void> {
  const { out } = options;
  if (existsSync(out)) throw new RangeError(`${out} is there already: choose another name`);
  const store = await openStore(
    readConfig(process.env, options.data === undefined ? {} : { dataFolder: options.data }),
  );
  try {
    const dwelling = await dwellingOf(store, options.dwelling);
    const from = options.from === undefined ? 0 : instantOf('--from', options.from, dwelling.zone);
    const to = options.to === undefined ? Number.POSITIVE_INFINITY : instantOf('--to', options.to, dwelling.zone);
    if (!(from >= 0 && from < to)) throw new RangeError('--from must be in 1970 or later, and --to after it');
    const { write } = exportFormats[options.format];
    const partial = `${out}.part`;
    try {
      const pieces = withExported(store, dwelling, options.what, { from, to }, write);
      await pipeline(Readable.from(pieces), createWriteStream(partial));
      await rename(partial, out);
    } catch (error) {
      await rm(partial, { force: true });
      throw error;
    }
  } finally {
    await store.close();
  }
}
