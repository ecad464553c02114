import { type Quantity, quantities } from '../physics/quantities.ts';
import { type CsvGuess, type CsvOptions, guessCsv } from './csv-guess.ts';
import { type LocalClock, localClock } from './local-time.ts';
import { isMissing, readNumber, readStamp } from './logger-cells.ts';
import { fileRows, type TextRow } from './logger-text.ts';
import { EARLIEST_TIME, quoteText } from './timestamp.ts';

/** A line, or a value in it, that was not taken. */
export interface Reject {
  readonly line: number;
  readonly reason: string;
}

export type LogItem =
  | {
      readonly kind: 'row';
      readonly line: number;
      /** UTC ms */
      readonly time: number;
      readonly values: readonly { readonly quantity: Quantity; readonly value: number }[];
    }
  | ({ readonly kind: 'reject' } & Reject)
  /** a time and no value: a gap of the logger's, nothing wrong with it */
  | { readonly kind: 'gap'; readonly line: number };

export interface ReadingRules {
  /** IANA zone or offset where neither the file nor the options say: usually the dwelling's */
  readonly fallbackZone: string;
  /** no reading may be later, UTC ms */
  readonly latest: number;
}

/** The clock a file's times are read by, or null when its cells carry their own offset. */
export function clockOf({ zone }: CsvGuess, { fallbackZone }: ReadingRules): LocalClock | null {
  if (zone.kind === 'in-cells') return null;
  return localClock(zone.kind === 'clock' ? zone.zone : fallbackZone);
}

interface PendingRow {
  readonly row: TextRow;
  readonly civil: number;
  readonly first: number;
  readonly second: number;
}

/** A night has 12 hours of rows in seconds below this; a longer run of doubtful times is no night. */
const LONGEST_RUN = 50_000;

/**
 * What a file says, line by line, as it is streamed through a bounded memory. Values are in the units of the quantity.
 *
 * A local time that the clock shows twice, when it is put back in autumn, is resolved by the order of the rows: where
 * the times within that hour step back exactly once, what stands before the step is summer time and what stands after
 * it is winter time. Without such a step nobody can tell, and the rows are rejected.
 *
 * @throws CsvProblem when the file cannot be read to its end; RangeError when its zone is not known
 */
export async function* readItems(
  path: string,
  guess: CsvGuess,
  rules: ReadingRules,
  onBytes?: (bytes: number) => void,
): AsyncGenerator<LogItem> {
  const clock = clockOf(guess, rules);
  const values = valueReader(guess);
  let run: PendingRow[] = [];
  let rowNumber = 0;
  const at = (row: TextRow, time: number): LogItem[] => {
    const { line } = row;
    if (time < EARLIEST_TIME)
      return [{ kind: 'reject', line, reason: `its time is before the year 2000: the logger's clock was not set` }];
    if (time > rules.latest) return [{ kind: 'reject', line, reason: `its time lies in the future` }];
    return values(row, time);
  };
  const settle = (): LogItem[] => {
    const settled = settleRun(run, guess.direction);
    run = [];
    return settled.flatMap((item) => (item.kind === 'reject' ? [item] : at(item.row, item.time)));
  };

  for await (const row of fileRows(path, guess.encoding, guess.delimiter, onBytes)) {
    if (rowNumber++ < guess.headerRows) continue;
    const text = guess.timeColumns
      .map(({ index }) => row.cells[index] ?? '')
      .join(' ')
      .trim();
    const stamp = readStamp(text, guess.dateOrder);
    if (stamp === null) {
      yield* settle();
      yield { kind: 'reject', line: row.line, reason: noTime(text) };
      continue;
    }
    if (stamp.offset !== null) {
      yield* settle();
      yield* at(row, stamp.civil - stamp.offset * 60_000);
      continue;
    }
    const instants = clock?.instants(stamp.civil) ?? { kind: 'unknown' as const };
    if (instants.kind === 'two' && run.length < LONGEST_RUN) {
      run.push({ row, civil: stamp.civil, first: instants.first, second: instants.second });
      continue;
    }
    if (run.length > 0) yield* settle();
    if (instants.kind === 'one') yield* at(row, instants.time);
    else yield { kind: 'reject', line: row.line, reason: whyNot(instants.kind, text, clock) };
  }
  yield* settle();
}

const noTime = (text: string): string =>
  text === '' ? 'it has no time' : `its time ${quoteText(text)} is not of the form of the others`;

function whyNot(kind: 'none' | 'two' | 'unknown', text: string, clock: LocalClock | null): string {
  if (kind === 'none') {
    return `${text} does not exist in ${clock?.name}: the clock was put forward over it. If the logger keeps one time all year, give its offset with --utc-offset`;
  }
  if (kind === 'two') return twice(text, clock?.name);
  return `its time ${quoteText(text)} carries no offset from UTC, unlike the others`;
}

const twice = (text: string, zone: string | undefined): string =>
  `${text} was shown twice${zone === undefined ? '' : ` in ${zone}`} as the clock was put back, and the order of the rows does not tell which is meant. If the logger keeps one time all year, give its offset with --utc-offset`;

type Settled =
  | { readonly kind: 'time'; readonly row: TextRow; readonly time: number }
  | ({ readonly kind: 'reject' } & Reject);

function settleRun(run: readonly PendingRow[], direction: CsvGuess['direction']): Settled[] {
  if (run.length === 0) return [];
  const steps: number[] = [];
  for (let i = 1; i < run.length; i++) {
    const change = run[i]!.civil - run[i - 1]!.civil;
    if (direction === 'forwards' ? change <= 0 : change >= 0) steps.push(i);
  }
  const [step, ...more] = steps;
  if (step === undefined || more.length > 0) {
    return run.map(({ row, civil }) => ({
      kind: 'reject',
      line: row.line,
      reason: twice(new Date(civil).toISOString().slice(0, 19).replace('T', ' '), undefined),
    }));
  }
  return run.map(({ row, first, second }, i) => ({
    kind: 'time',
    row,
    time: i < step === (direction === 'forwards') ? first : second,
  }));
}

function valueReader(guess: CsvGuess): (row: TextRow, time: number) => LogItem[] {
  return (row, time) => {
    const { line, cells } = row;
    const values: { quantity: Quantity; value: number }[] = [];
    const rejects: LogItem[] = [];
    let gaps = 0;
    for (const { quantity, index, name, unit } of guess.quantities) {
      const text = cells[index] ?? '';
      if (isMissing(text)) {
        gaps++;
        continue;
      }
      const number = readNumber(text, guess.decimal);
      if (number === null) {
        rejects.push({ kind: 'reject', line, reason: `${name} is ${quoteText(text)}, which is no number` });
        continue;
      }
      const value = unit === '°F' ? (number - 32) / 1.8 : number;
      const { low, high, unit: own } = quantities[quantity];
      if (value >= low && value <= high) values.push({ quantity, value });
      else {
        const reason = `${name} is ${quoteText(text)}; ${quantity} must lie between ${low} and ${high} ${own}`;
        rejects.push({ kind: 'reject', line, reason });
      }
    }
    if (values.length > 0) return [{ kind: 'row', line, time, values }, ...rejects];
    return rejects.length > 0 || gaps === 0 ? rejects : [{ kind: 'gap', line }];
  };
}

/** A logger's file as columns, in the order of the file. Missing is NaN here: these are typed arrays. */
export interface LoggerLog {
  /** UTC ms */
  readonly times: Float64Array;
  /** C; NaN where the row has none */
  readonly temperature: Float64Array;
  /** %; NaN where the row has none */
  readonly humidity: Float64Array;
  readonly rejects: readonly Reject[];
  readonly guess: CsvGuess;
}

/**
 * Reads a whole logger file of temperature and humidity into memory.
 *
 * @throws CsvProblem when the file cannot be understood; RangeError when its zone is not known
 */
export async function readLoggerCsv(path: string, rules: ReadingRules, options: CsvOptions = {}): Promise<LoggerLog> {
  const guess = await guessCsv(path, options);
  const times: number[] = [];
  const temperature: number[] = [];
  const humidity: number[] = [];
  const rejects: Reject[] = [];
  for await (const item of readItems(path, guess, rules)) {
    if (item.kind === 'reject') rejects.push({ line: item.line, reason: item.reason });
    if (item.kind !== 'row') continue;
    times.push(item.time);
    temperature.push(item.values.find(({ quantity }) => quantity === 'temperature')?.value ?? Number.NaN);
    humidity.push(item.values.find(({ quantity }) => quantity === 'humidity')?.value ?? Number.NaN);
  }
  return {
    times: Float64Array.from(times),
    temperature: Float64Array.from(temperature),
    humidity: Float64Array.from(humidity),
    rejects,
    guess,
  };
}
