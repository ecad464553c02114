import type { ExportFormatName } from '../../analysis/export-vocabulary.ts';
import { type Field, headerOf, lineOf } from '../table.ts';
import type { Exported } from './tables.ts';

/** Read in when the first file is written. */
async function* parquet<Row>(exported: Exported<Row>) {
  yield* (await import('./parquet.ts')).parquetOf(exported);
}

/** How a table can be written: its ending, its media type, and its bytes a piece at a time. */
export interface ExportFormat {
  readonly ending: string;
  readonly type: string;
  readonly write: <Row>(exported: Exported<Row>) => AsyncGenerator<string | Uint8Array>;
}

export const exportFormats: Readonly<Record<ExportFormatName, ExportFormat>> = {
  csv: { ending: 'csv', type: 'text/csv; charset=utf-8; header=present', write: csvOf },
  json: { ending: 'jsonl', type: 'application/jsonl', write: jsonLines },
  parquet: { ending: 'parquet', type: 'application/vnd.apache.parquet', write: parquet },
};

/** As in a pack: see the README there. */
export async function* csvOf<Row>({ table, pages }: Exported<Row>) {
  yield headerOf(table);
  for await (const page of pages()) yield page.map((row) => lineOf(table, row)).join('');
}

/** JSON Lines: an object a line, with the columns of the CSV as names; unknown is null, instants are texts as there. */
async function* jsonLines<Row>({ table, pages }: Exported<Row>) {
  for await (const page of pages()) {
    yield page
      .map((row) => `${JSON.stringify(Object.fromEntries(table.fields.map((one) => cell(one, row))))}\n`)
      .join('');
  }
}

function cell<Row>({ name, type, of }: Field<Row>, row: Row): readonly [string, unknown] {
  const value = of(row);
  return [name, type === 'datetime' && value !== null ? new Date(value as number).toISOString() : value];
}
