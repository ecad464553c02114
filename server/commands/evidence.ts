import { existsSync } from 'node:fs';
import { Command, Option } from 'commander';
import { DateTime } from 'luxon';
import { type PaperSize, paperSizes, type ReportKind, reportKinds } from '../analysis/report-vocabulary.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { readConfig } from '../config.ts';
import { buildPack } from '../evidence/build.ts';
import { reportMembers } from '../evidence/report/members.ts';
import { openStore, version } from '../main.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { openPassingStore } from '../store/sqlite.ts';

interface Options {
  readonly data?: string;
  readonly dwelling?: string;
  readonly from?: string;
  readonly to?: string;
  readonly places?: string;
  readonly withoutNames?: true;
  readonly report: ReportKind;
  readonly paper: PaperSize;
  readonly out: string;
}

const help = `
The pack is a zip that anyone can check without this program: its README.txt says how. People's presence and absence can be
read out of what is in it. Times are local to the dwelling unless they name an offset.`;

/** `coomb evidence --out FILE.zip`: the evidence pack of a dwelling. */
export function evidenceCommand(): Command {
  return new Command('evidence')
    .description('make an evidence pack: readings, figures and what is needed to check them')
    .requiredOption('--out <file>', 'zip to write; there must be none of that name')
    .option('--dwelling <slug>', 'may be left out where there is only one')
    .option('--from <time>', 'first hour to include (default: the first there is)')
    .option('--to <time>', 'where to end (default: now)')
    .option(
      '--places <numbers>',
      'places to include, separated by commas, with those their figures rest on (default: all)',
    )
    .option('--without-names', 'leave out names, notes, photos and the contents of messages')
    .addOption(
      new Option('--report <kind>', 'what the report shows')
        .choices([...reportKinds])
        .default('works' satisfies ReportKind),
    )
    .addOption(new Option('--paper <size>', 'of the PDF').choices([...paperSizes]).default('A4' satisfies PaperSize))
    .option('--data <folder>', 'folder of the database')
    .addHelpText('after', help)
    .action(run);
}

async function run(options: Options): Promise<void> {
  if (existsSync(options.out)) throw new RangeError(`${options.out} is there already: choose another name`);
  const config = readConfig(process.env, options.data === undefined ? {} : { dataFolder: options.data });
  const store = await openStore(config);
  try {
    const dwelling = await dwellingOf(store, options.dwelling);
    const now = Date.now();
    const known = await store.hourSpan(dwelling.id);
    if (known === null) throw new RangeError(`${dwelling.slug} has no hour record yet: there is nothing to pack`);
    const from = options.from === undefined ? known.first : instantOf('--from', options.from, dwelling.zone);
    const to =
      options.to === undefined
        ? Math.min(known.last + HOUR_MS, Math.floor(now / HOUR_MS) * HOUR_MS)
        : instantOf('--to', options.to, dwelling.zone);
    let step = '';
    const made = await buildPack(
      {
        store,
        openStore: openPassingStore,
        dataFolder: config.dataFolder,
        version,
        now,
        report: (given) => reportMembers({ kind: options.report, paper: options.paper }, given),
        onProgress(progress) {
          if (progress.step !== step) process.stderr.write(`  ${progress.step} …\n`);
          step = progress.step;
        },
      },
      {
        dwellingId: dwelling.id,
        from: Math.floor(from / HOUR_MS) * HOUR_MS,
        to: Math.ceil(to / HOUR_MS) * HOUR_MS,
        placeIds: options.places === undefined ? null : options.places.split(',').map(placeNumber),
        words: options.withoutNames ? 'without-words' : 'with-words',
      },
      options.out,
    );
    process.stdout.write(
      `${options.out}: ${made.readings} readings, ${made.figures} figures\nSigned by the key with fingerprint\n  ${made.fingerprint}\n`,
    );
  } finally {
    await store.close();
  }
}

export async function dwellingOf(store: Store, slug: string | undefined): Promise<Dwelling> {
  const all = await store.dwellings();
  const found = slug === undefined && all.length === 1 ? all[0] : all.find((dwelling) => dwelling.slug === slug);
  if (found !== undefined) return found;
  if (all.length === 0) throw new RangeError('there is no dwelling in this database: check --data');
  throw new RangeError(`say which dwelling: --dwelling with one of ${all.map((one) => one.slug).join(', ')}`);
}

export function instantOf(option: string, text: string, zone: string): number {
  const time = DateTime.fromISO(text.trim().replace(' ', 'T'), { zone });
  if (time.isValid) return time.toMillis();
  throw new RangeError(`${option} is "${text}"; it must be a date or time such as 2026-01-14 or 2026-01-14T06:00`);
}

function placeNumber(text: string): number {
  const number = Number(text);
  if (Number.isInteger(number) && number > 0) return number;
  throw new RangeError(`--places has "${text}"; it must be numbers separated by commas`);
}
