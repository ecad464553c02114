import type { Trace, TraceRow } from './trace.ts';

/**
 * Text as a cell of a CSV file (RFC 4180). A name that a spreadsheet would take for a formula is given an apostrophe in
 * front; numbers are written by {@link numberCell} and may begin with a minus.
 */
export function textCell(text: string): string {
  const safe = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** Six significant digits are finer than any sensor; empty where nothing is known. */
export const numberCell = (value: number | null): string =>
  value === null ? '' : String(Number(value.toPrecision(6)));

/** Names of columns; whoever writes the file says them in the reader's words. */
export interface CsvWords {
  readonly begin: string;
  readonly mean: (name: string) => string;
  readonly min: (name: string) => string;
  readonly max: (name: string) => string;
  readonly plusMinus: (name: string) => string;
  readonly count: (name: string) => string;
}

/** Rows of traces as a file: the first column by `stamp`, then five for each trace, with the unit in every header. */
export function csvOf(
  traces: readonly Pick<Trace, 'name'>[],
  rows: readonly TraceRow[],
  unit: string,
  stamp: (x: number) => string,
  words: CsvWords,
): string {
  const named = (say: (name: string) => string) => (name: string) => `${say(name)}${unit === '' ? '' : ` (${unit})`}`;
  const header = [
    words.begin,
    ...traces.flatMap(({ name }) => [
      named(words.mean)(name),
      named(words.min)(name),
      named(words.max)(name),
      named(words.plusMinus)(name),
      words.count(name),
    ]),
  ].map(textCell);
  const lines = rows.map(({ begin, spreads }) =>
    [
      textCell(stamp(begin)),
      ...spreads.flatMap((spread) =>
        spread === null
          ? ['', '', '', '', '']
          : [
              numberCell(spread.mean),
              numberCell(spread.min),
              numberCell(spread.max),
              numberCell(spread.plusMinus),
              String(spread.count),
            ],
      ),
    ].join(','),
  );
  return [header.join(','), ...lines].join('\r\n').concat('\r\n');
}
