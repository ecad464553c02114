import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';

export type Row = Readonly<Record<string, string>>;

/**
 * Reads a table of published or independently computed values from test/external/data.
 * A table without rows checks nothing, so it throws, as does a file that is not there.
 */
export function table(name: string): readonly Row[] {
  const text = readFileSync(fileURLToPath(new URL(`data/${name}`, import.meta.url)), 'utf8');
  return filled(name, parse(text, { columns: true, skip_empty_lines: true }) as Row[]);
}

/** The same guard for a table written in the test itself. */
export function filled<R>(name: string, rows: readonly R[]): readonly R[] {
  if (rows.length === 0) throw new Error(`${name} has no rows: nothing would be checked`);
  return rows;
}

/** A column as a number; a cell that is not one throws, so that a misspelt heading cannot pass. */
export function number(row: Row, column: string): number {
  const cell = row[column];
  if (cell === undefined || cell.trim() === '' || !Number.isFinite(Number(cell))) {
    throw new Error(`${column} is "${cell}" in ${JSON.stringify(row)}; a number was wanted`);
  }
  return Number(cell);
}
