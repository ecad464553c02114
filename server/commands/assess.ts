import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { Command } from 'commander';
import { DateTime, Duration, IANAZone } from 'luxon';
import { assess } from '../analysis/assess.ts';
import type { SensorUncertainty, Span, Target } from '../analysis/assessment.ts';
import type { AssessedPlace } from '../analysis/assessment-input.ts';
import { assumedUncertainty, defaultTarget } from '../analysis/assessment-settings.ts';
import type { PlaceKind } from '../analysis/vocabulary.ts';
import { publishedFactors } from '../physics/published-factors.ts';
import { assessText } from './assess-text.ts';
import { type LoggerFile, readLoggerCsv } from './logger-csv.ts';
import { hoursOfFiles } from './logger-hours.ts';

/** Options as they are typed. */
interface Options {
  readonly room: string;
  readonly surface: string;
  readonly outdoor: string;
  readonly loft?: string;
  readonly timber?: string;
  readonly control?: string;
  readonly behind?: string;
  readonly edge: readonly string[];
  readonly before?: string;
  readonly after?: string;
  readonly works: readonly string[];
  readonly target?: string;
  readonly zone: string;
  readonly temperatureOffset: string;
  readonly humidityOffset: string;
  readonly temperatureDrift: string;
  readonly humidityDrift: string;
  readonly seed: string;
  readonly json?: true;
}

const repeated = (value: string, earlier: readonly string[]): readonly string[] => [...earlier, value];

/** `coomb assess`: before against after from loggers' files alone, without a server or database. */
export function assessCommand(): Command {
  return new Command('assess')
    .description('compare before and after works from CSV files alone: time,temperature_c,humidity_pct')
    .requiredOption('--room <csv>', 'room air')
    .requiredOption('--surface <csv>', 'the treated surface; humidity not needed')
    .requiredOption('--outdoor <csv>', 'outdoor air')
    .option('--loft <csv>', 'loft air')
    .option('--timber <csv>', 'loft timber: time,timber_moisture_pct')
    .option('--control <csv>', 'a comparable surface that is not treated')
    .option('--behind <csv>', 'behind the lining')
    .option('--edge <csv>', 'edge of the lining or another surface; may be given more than once', repeated, [])
    .option('--before <interval>', 'phase before the works, ISO 8601 FROM/TO, TO not included')
    .option('--after <interval>', 'phase after the works, the same form')
    .option('--works <interval>', 'time that counts in neither phase; may be given more than once', repeated, [])
    .option('--target <f>', `temperature factor to be met (default: ${defaultTarget.f}, ${defaultTarget.source})`)
    .option('--zone <name>', 'IANA time zone of the dwelling, for nights and for times without an offset', 'UTC')
    .option(
      '--temperature-offset <K>',
      'standard uncertainty of a sensor offset',
      `${assumedUncertainty.temperatureOffsetK}`,
    )
    .option('--humidity-offset <pct>', 'the same of humidity', `${assumedUncertainty.humidityOffsetPct}`)
    .option(
      '--temperature-drift <K>',
      'standard uncertainty of its change between the phases',
      `${assumedUncertainty.temperatureDriftK}`,
    )
    .option('--humidity-drift <pct>', 'the same of humidity', `${assumedUncertainty.humidityDriftPct}`)
    .option('--seed <number>', 'of the resampling', '1')
    .option('--json', 'print the result as JSON')
    .action((options: Options, command: Command) => {
      try {
        run(options);
      } catch (error) {
        if (!(error instanceof RangeError)) throw error;
        command.error(error.message, { exitCode: 1, code: 'coomb.assess' });
      }
    });
}

/** In order: zone, files, phases, assessment, print. Every fault a person can mend is a RangeError that says how. */
function run(options: Options): void {
  const zone = zoneOf(options.zone);
  const files = filesOf(options).map((named) => ({ ...named, log: readFile(named.path, zone) }));
  reportSetAside(files, zone);
  const uncertainty = uncertaintyOf(options);
  const hours = hoursOfFiles(files);
  const places = files.map(
    ({ id, name, kind }, k): AssessedPlace => ({
      id,
      name,
      kind,
      hours: hours[k]!,
      stays: [],
      recalibrations: [],
      uncertainty,
    }),
  );
  const placeOf = (id: string): AssessedPlace | null => places.find((place) => place.id === id) ?? null;
  const result = assess({
    surface: placeOf('surface')!,
    room: placeOf('room')!,
    outdoor: placeOf('outdoor'),
    loftAir: placeOf('loft'),
    loftTimber: placeOf('timber'),
    control: placeOf('control'),
    behind: placeOf('behind'),
    otherSurfaces: places.filter((place) => place.id.startsWith('edge')),
    before: options.before === undefined ? null : spanOf('--before', options.before, zone),
    after: options.after === undefined ? null : spanOf('--after', options.after, zone),
    leftOut: options.works.map((text) => ({ ...spanOf('--works', text, zone), kind: 'works' as const })),
    zone,
    target: targetOf(options.target),
    now: null,
    airChangesPerHour: { before: null, after: null },
    seed: numberOf('--seed', options.seed, 0, 2 ** 32 - 1, ''),
    settings: {},
  });
  const read = files.map(({ id, path, log }) => ({
    place: id,
    file: basename(path),
    lines: log.lines,
    timesWithoutOffset: log.withoutOffset,
    setAside: log.setAside,
  }));
  process.stdout.write(`${options.json ? JSON.stringify({ ...result, files: read }, null, 2) : assessText(result)}\n`);
}

interface NamedFile {
  readonly id: string;
  readonly name: string;
  readonly kind: PlaceKind;
  readonly path: string;
}

function filesOf(options: Options): readonly NamedFile[] {
  const files: NamedFile[] = [];
  const add = (id: string, name: string, kind: PlaceKind, path: string | undefined): void => {
    if (path !== undefined) files.push({ id, name, kind, path });
  };
  add('surface', 'The ceiling surface', 'ceiling-surface', options.surface);
  add('room', 'The room air', 'room-air', options.room);
  add('outdoor', 'The outdoor air', 'outdoor-air', options.outdoor);
  add('loft', 'The loft air', 'loft-air', options.loft);
  add('timber', 'The loft timber', 'loft-timber', options.timber);
  add('control', 'The control surface', 'control-surface', options.control);
  add('behind', 'Behind the lining', 'behind-lining', options.behind);
  options.edge.forEach((path, k) => {
    add(`edge-${k + 1}`, options.edge.length === 1 ? 'The edge' : `Edge ${k + 1}`, 'ceiling-surface', path);
  });
  return files;
}

function readFile(path: string, zone: string): LoggerFile {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    throw new RangeError(`${path} cannot be read: ${(error as Error).message}`, { cause: error });
  }
  return readLoggerCsv(text, basename(path), zone);
}

const MOST_LINES_SHOWN = 5;

function reportSetAside(files: readonly (NamedFile & { readonly log: LoggerFile })[], zone: string): void {
  for (const { path, log } of files) {
    const { setAside, withoutOffset } = log;
    if (withoutOffset > 0) {
      process.stderr.write(`${basename(path)}: ${withoutOffset} times without a UTC offset, taken in ${zone}\n`);
    }
    if (setAside.length === 0) continue;
    const shown = setAside.slice(0, MOST_LINES_SHOWN).map(({ line, message }) => `  line ${line} ${message}\n`);
    const more = setAside.length > shown.length ? `  and ${setAside.length - shown.length} more\n` : '';
    process.stderr.write(`${basename(path)}: ${setAside.length} lines set aside\n${shown.join('')}${more}`);
  }
}

function zoneOf(text: string): string {
  if (IANAZone.isValidZone(text)) return text;
  throw new RangeError(`--zone is "${text}"; it must be an IANA time zone such as Europe/London`);
}

/** An ISO 8601 interval: two instants, or one and a duration. Dates begin at local midnight. */
function spanOf(option: string, text: string, zone: string): Span {
  const parts = text.split('/');
  const wrong = new RangeError(
    `${option} is "${text}"; it must be an ISO 8601 interval FROM/TO, as 2025-11-01/2026-02-01 or 2025-11-01/P3M`,
  );
  if (parts.length !== 2) throw wrong;
  const [first, second] = parts.map((part) => part.trim()) as [string, string];
  const instant = (part: string): DateTime => DateTime.fromISO(part.replace(' ', 'T'), { zone });
  const from = first.startsWith('P') ? instant(second).minus(Duration.fromISO(first)) : instant(first);
  const to = second.startsWith('P') ? instant(first).plus(Duration.fromISO(second)) : instant(second);
  if (!from.isValid || !to.isValid) throw wrong;
  return { from: from.toMillis(), to: to.toMillis() };
}

function targetOf(text: string | undefined): Target {
  if (text === undefined) return defaultTarget;
  const f = numberOf('--target', text, 0.01, 0.99, '');
  const published = publishedFactors.find((one) => one.factor === f);
  return { f, source: published ? `${published.source}, ${published.where}` : 'chosen by the user' };
}

function uncertaintyOf(options: Options): SensorUncertainty | null {
  const chosen = {
    temperatureOffsetK: numberOf('--temperature-offset', options.temperatureOffset, 0, 5, 'K'),
    humidityOffsetPct: numberOf('--humidity-offset', options.humidityOffset, 0, 20, '%'),
    temperatureDriftK: numberOf('--temperature-drift', options.temperatureDrift, 0, 5, 'K'),
    humidityDriftPct: numberOf('--humidity-drift', options.humidityDrift, 0, 20, '%'),
  };
  const names = Object.keys(chosen) as (keyof typeof chosen)[];
  const asAssumed = names.every((name) => chosen[name] === assumedUncertainty[name]);
  return asAssumed ? null : { ...chosen, source: 'given with the command' };
}

function numberOf(option: string, text: string, low: number, high: number, unit: string): number {
  const value = text.trim() === '' ? Number.NaN : Number(text);
  if (value >= low && value <= high) return value;
  const range = `${low} to ${high}${unit === '' ? '' : ` ${unit}`}`;
  throw new RangeError(`${option} is "${text}"; it must be a number from ${range}`);
}
