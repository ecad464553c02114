import { closeSync, openSync, statSync, writeSync } from 'node:fs';
import { basename } from 'node:path';
import { createInterface } from 'node:readline/promises';
import cliProgress from 'cli-progress';
import { Command, InvalidArgumentError, Option } from 'commander';
import { readConfig } from '../config.ts';
import type { CsvOptions } from '../ingest/csv-guess.ts';
import { type ImportPlan, planImport, runImport } from '../ingest/import.ts';
import { localClock } from '../ingest/local-time.ts';
import { CsvProblem } from '../ingest/logger-text.ts';
import { openStore } from '../main.ts';
import { type Quantity, quantityNames } from '../physics/quantities.ts';
import { keepHours } from '../store/hour-keeper.ts';
import type { Dwelling, New, Store } from '../store/port.ts';
import { importSummary, outcomeText } from './import-text.ts';

interface Options {
  readonly data?: string;
  readonly dwelling?: string;
  readonly sensor?: string;
  readonly time?: string;
  readonly temperature?: string;
  readonly humidity?: string;
  readonly timberMoisture?: string;
  readonly co2?: string;
  readonly battery?: string;
  readonly unit?: 'C' | 'F';
  readonly utcOffset?: string;
  readonly zone?: string;
  readonly delimiter?: string;
  readonly decimal?: 'point' | 'comma';
  readonly dateOrder?: 'ymd' | 'dmy' | 'mdy';
  readonly rejects?: string;
  readonly yes?: true;
}

/** Nothing was written because nobody said yes. */
const NOT_CONFIRMED = 3;
/** The import went through and left lines out. */
const WITH_REJECTS = 2;

const AHEAD_MS = 10 * 60_000;

const help = `
What the file does not say and no option says is guessed, and shown before anything is written. An import that was
broken off, or a file with some rows imported before, can be imported again: what is there already is not added twice.

Exit status: 0 everything was taken; 1 the file or an option cannot be used; 2 taken, but for the lines listed;
3 nothing was written, for want of a yes.`;

/** `coomb import FILE`: the readings of a logger's CSV file. */
export function importCommand(): Command {
  const zone = (text: string): string => {
    try {
      localClock(text);
      return text;
    } catch (error) {
      throw new InvalidArgumentError((error as Error).message);
    }
  };
  return new Command('import')
    .description("read a logger's CSV file in")
    .argument('<file>', 'CSV: one row per instant, with a header')
    .option('--dwelling <slug>', 'dwelling the sensor belongs to; may be left out where there is only one')
    .option('--sensor <name>', "name of the sensor (default: the file's name)")
    .option('--time <column>', 'column of the time, by its name or its number from 1; so for every column below')
    .option('--temperature <column>', 'column of the temperature')
    .option('--humidity <column>', 'column of the relative humidity, %')
    .option('--timber-moisture <column>', 'column of the timber moisture content, %')
    .option('--co2 <column>', 'column of the CO2 concentration, ppm')
    .option('--battery <column>', 'column of the battery voltage, V')
    .addOption(new Option('--unit <unit>', 'unit of the temperature').choices(['C', 'F']))
    .option('--utc-offset <offset>', "the logger's clock keeps this offset from UTC all year, e.g. +02:00", zone)
    .addOption(
      new Option('--zone <zone>', "the logger's clock follows this IANA zone, summer time included")
        .argParser(zone)
        .conflicts('utcOffset'),
    )
    .option('--delimiter <character>', 'what separates columns: a character, or tab')
    .addOption(new Option('--decimal <sign>', 'decimal sign of the numbers').choices(['point', 'comma']))
    .addOption(new Option('--date-order <order>', 'order of day, month and year').choices(['ymd', 'dmy', 'mdy']))
    .option('--rejects <file>', 'write every line that is left out, and why, to this new CSV file')
    .option('--data <folder>', 'folder of the database')
    .option('--yes', 'write without asking')
    .addHelpText('after', help)
    .action(async (file: string, options: Options) => {
      process.exitCode = await run(file, options);
    });
}

/** In order: dwelling, plan, summary, question, readings, hours. Gives the exit status. */
async function run(file: string, options: Options): Promise<number> {
  const config = readConfig(process.env, options.data === undefined ? {} : { dataFolder: options.data });
  const store = await openStore(config);
  try {
    const target = await dwellingFor(store, options);
    const sensorKey = sensorKeyFor(file, options.sensor);
    const plan = await planned(file, target.zone, options);
    process.stdout.write(importSummary(plan, { dwelling: target, sensorKey, isNew: !('id' in target) }));
    if (plan.readings === 0) {
      process.stderr.write('Nothing can be imported.\n');
      return 1;
    }
    if (!(await confirmed(options))) return NOT_CONFIRMED;
    const { id: dwellingId } = 'id' in target ? target : await store.addDwelling(target);
    await write(store, plan, dwellingId, sensorKey);
    return plan.rejected > 0 ? WITH_REJECTS : 0;
  } catch (error) {
    if (!(error instanceof CsvProblem)) throw error;
    process.stderr.write(`${error.message}\n`);
    return 1;
  } finally {
    await store.close();
  }
}

async function dwellingFor(store: Store, options: Options): Promise<Dwelling | New<Dwelling>> {
  const all = await store.dwellings();
  const named = all.find(({ slug }) => slug === options.dwelling);
  if (named !== undefined) return named;
  if (all.length === 0) return firstDwelling(options);
  const slugs = all.map(({ slug }) => slug).join(', ');
  if (options.dwelling !== undefined) {
    throw new RangeError(`there is no dwelling ${options.dwelling}; known are ${slugs}`);
  }
  const [only, ...others] = all;
  if (others.length > 0)
    throw new RangeError(`say which dwelling the sensor belongs to: --dwelling with one of ${slugs}`);
  return only!;
}

/** Common dimensions to draw the section with until its people measure their own. */
function firstDwelling({ dwelling = 'home', zone }: Options): New<Dwelling> {
  if (!/^[a-z0-9][a-z0-9-]{0,62}$/.test(dwelling)) {
    throw new RangeError(`the dwelling's name in topics is ${dwelling}; use lower-case letters, digits and hyphens`);
  }
  const own = Intl.DateTimeFormat().resolvedOptions().timeZone;
  return {
    slug: dwelling,
    name: dwelling,
    zone: zone?.includes('/') ? zone : own,
    section: {
      pitchDeg: 40,
      slopeLengthMm: 2000,
      roomHeightMm: 2300,
      liningThicknessMm: 0,
      loftInsulationMm: 200,
      eavesGapMm: 50,
    },
  };
}

function sensorKeyFor(file: string, given: string | undefined): string {
  const key = (given ?? basename(file).replace(/\.[^.]*$/, '')).trim().replaceAll(/[\s/+#]+/g, '-');
  if (key === '') throw new RangeError('the sensor needs a name: --sensor NAME');
  return key.slice(0, 128);
}

function csvOptions(options: Options): CsvOptions {
  const zone = options.utcOffset ?? options.zone;
  const delimiter = options.delimiter === 'tab' ? '\t' : options.delimiter;
  const columns = Object.fromEntries(
    (['time', ...quantityNames] as const satisfies readonly ('time' | Quantity)[]).flatMap((name) =>
      options[name] === undefined ? [] : [[name, options[name]]],
    ),
  );
  return {
    ...(Object.keys(columns).length > 0 ? { columns } : {}),
    ...(options.unit === undefined ? {} : { temperatureUnit: options.unit }),
    ...(zone === undefined ? {} : { zone }),
    ...(delimiter === undefined ? {} : { delimiter }),
    ...(options.decimal === undefined ? {} : { decimal: options.decimal === 'comma' ? ',' : '.' }),
    ...(options.dateOrder === undefined ? {} : { dateOrder: options.dateOrder }),
  };
}

/** Reads the file through; with `--rejects`, every line left out goes to that file as it is met. */
async function planned(file: string, fallbackZone: string, options: Options): Promise<ImportPlan> {
  const rules = { fallbackZone, latest: Date.now() + AHEAD_MS };
  const list = options.rejects === undefined ? null : newFile(options.rejects);
  const bar = progressBar();
  bar.begin('checking', statSync(file, { throwIfNoEntry: false })?.size ?? 0);
  try {
    if (list !== null) writeSync(list, 'line,reason\r\n');
    return await planImport(file, rules, csvOptions(options), {
      onBytes: bar.to,
      onReject: ({ line, reason }) => {
        if (list !== null) writeSync(list, `${line},"${reason.replaceAll('"', '""')}"\r\n`);
      },
    });
  } finally {
    bar.end();
    if (list !== null) closeSync(list);
  }
}

function newFile(path: string): number {
  try {
    return openSync(path, 'wx');
  } catch (cause) {
    throw new RangeError(`the list of rejects cannot be written to ${path}: ${(cause as Error).message}`, { cause });
  }
}

async function confirmed(options: Options): Promise<boolean> {
  if (options.yes) return true;
  if (!process.stdin.isTTY || !process.stdout.isTTY) {
    process.stderr.write('Nothing was written. Add --yes to import this.\n');
    return false;
  }
  const prompt = createInterface({ input: process.stdin, output: process.stdout });
  const answer = await prompt.question('Import this? [y/N] ');
  prompt.close();
  if (/^y(?:es)?$/i.test(answer.trim())) return true;
  process.stderr.write('Nothing was written.\n');
  return false;
}

async function write(store: Store, plan: ImportPlan, dwellingId: number, sensorKey: string): Promise<void> {
  const bar = progressBar();
  try {
    bar.begin('reading', plan.guess.fileBytes);
    const target = { dwellingId, sensorKey, receivedAt: Date.now() };
    const outcome = await runImport(store, plan, target, { onBytes: bar.to });
    let begun = false;
    await keepHours(store, {
      onProgress: ({ done, total }) => {
        if (!begun) bar.begin('working out the hours', total);
        begun = true;
        bar.to(done);
      },
    });
    bar.end();
    process.stdout.write(outcomeText(outcome, sensorKey));
  } finally {
    bar.end();
  }
}

interface Bar {
  begin(what: string, total: number): void;
  to(done: number): void;
  end(): void;
}

/** A bar for people who watch, and nothing for those who do not. */
function progressBar(): Bar {
  if (!process.stderr.isTTY) return { begin: () => {}, to: () => {}, end: () => {} };
  const bar = new cliProgress.SingleBar({
    format: '{what} [{bar}] {percentage} %',
    barCompleteChar: '=',
    barIncompleteChar: ' ',
    hideCursor: true,
  });
  let running = false;
  return {
    begin(what, total) {
      if (running) bar.stop();
      running = true;
      bar.start(total, 0, { what });
    },
    to: (done) => bar.update(done),
    end() {
      if (running) bar.stop();
      running = false;
    },
  };
}
