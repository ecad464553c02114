import { readFileSync, writeFileSync } from 'node:fs';
import { basename } from 'node:path';
import { Command } from 'commander';
import { assessLining, type LiningResult } from '../analysis/lining.ts';
import type { LoggedHours } from '../analysis/lining-input.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { liningJson } from '../api/contract/lining-answer.ts';
import { readLiningFile } from '../api/contract/lining-file.ts';
import { type AirLog, alignLogs, readAirCsv } from './air-csv.ts';
import { liningText } from './lining-text.ts';

interface Options {
  readonly json?: true;
  readonly room?: string;
  readonly outdoor?: string;
  readonly hours?: string;
}

/** `coomb lining FILE`: what a lining does to a ceiling, before it is built. */
export function liningCommand(): Command {
  return new Command('lining')
    .description('work out a ceiling before and after lining: U, f, surface, hidden layer, condensation, cautions')
    .argument('<file>', 'build-up as JSON; see sample-data/lining.md and sample-data/lining-example.json')
    .option('--json', 'print the result as JSON')
    .option('--room <csv>', 'logged room air: time,temperature_c,humidity_pct')
    .option('--outdoor <csv>', 'logged outdoor air, the same form')
    .option('--hours <csv>', 'also write the old surface hour by hour to this new file (needs both logs)')
    .action((file: string, options: Options, command: Command) => {
      try {
        run(file, options);
      } catch (error) {
        if (!(error instanceof RangeError)) throw error;
        command.error(error.message, { exitCode: 1, code: 'coomb.lining' });
      }
    });
}

/** In order: file, logs, result, hours, print. Every fault a person can mend is a RangeError that says how. */
function run(file: string, options: Options): void {
  const { title, zone, input } = buildUpFrom(file);
  const logged = logsFrom(options, zone);
  const result = assessLining({ ...input, logged });
  if (options.hours !== undefined) writeHours(options.hours, result, logged);
  const text = options.json ? JSON.stringify(liningJson(title, result), null, 2) : liningText(title, result);
  process.stdout.write(`${text}\n`);
}

function buildUpFrom(file: string) {
  const read = readLiningFile(jsonOf(file));
  if (read.kind === 'usable') {
    return { title: read.file.title ?? null, zone: read.file.time_zone, input: read.input };
  }
  const problems = read.problems.map(({ at, message }) => `  ${at}: ${message}`).join('\n');
  throw new RangeError(`${file} cannot be used:\n${problems}\nThe form is described in sample-data/lining.md.`);
}

function jsonOf(file: string): unknown {
  const text = textOf(file);
  try {
    return JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    throw new RangeError(`${file} is not JSON: ${(error as Error).message}`, { cause: error });
  }
}

function textOf(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new RangeError(`${file} cannot be read: ${(error as Error).message}`, { cause: error });
  }
}

function logsFrom({ room, outdoor, hours }: Options, zone: string): LoggedHours | null {
  if (room === undefined && outdoor === undefined && hours === undefined) return null;
  if (room === undefined || outdoor === undefined) {
    throw new RangeError('logs come in pairs: give both --room and --outdoor');
  }
  const roomLog = readAirCsv(textOf(room), basename(room));
  const outdoorLog = readAirCsv(textOf(outdoor), basename(outdoor));
  reportSetAside(basename(room), roomLog);
  reportSetAside(basename(outdoor), outdoorLog);
  return { zone, ...alignLogs(roomLog, outdoorLog) };
}

const MOST_LINES_SHOWN = 5;

function reportSetAside(fileName: string, { setAside }: AirLog): void {
  if (setAside.length === 0) return;
  const shown = setAside.slice(0, MOST_LINES_SHOWN).map(({ line, message }) => `  line ${line} ${message}\n`);
  const more = setAside.length > shown.length ? `  and ${setAside.length - shown.length} more\n` : '';
  process.stderr.write(`${fileName}: ${setAside.length} lines set aside\n${shown.join('')}${more}`);
}

function writeHours(file: string, { hidden }: LiningResult, logged: LoggedHours | null): void {
  const before = hidden.before.logged?.series;
  const after = hidden.asDescribed.logged?.series;
  if (logged === null || before === undefined || after === undefined) return;
  const cell = (value: number, digits: number): string => (Number.isFinite(value) ? value.toFixed(digits) : '');
  const lines = Array.from(after.temperature, (_, hour) =>
    [
      new Date(logged.start + hour * HOUR_MS).toISOString(),
      cell(before.temperature[hour]!, 2),
      cell(before.humidity[hour]!, 1),
      cell(before.mouldIndex[hour]!, 4),
      cell(after.temperature[hour]!, 2),
      cell(after.humidity[hour]!, 1),
      cell(after.mouldIndex[hour]!, 4),
      cell(after.water[hour]!, 5),
    ].join(','),
  );
  const header =
    'time,before_temperature_c,before_humidity_pct,before_mould_index,behind_temperature_c,behind_humidity_pct,behind_mould_index,behind_water_kg_per_m2';
  try {
    writeFileSync(file, `${[header, ...lines].join('\r\n')}\r\n`, { flag: 'wx' });
  } catch (error) {
    throw new RangeError(`${file} cannot be written: ${(error as Error).message}`, { cause: error });
  }
}
