import { setImmediate } from 'node:timers/promises';
import { ByteWriter, ParquetWriter, type SchemaElement } from 'hyparquet-writer';
import type { Field, Table } from '../table.ts';
import type { Exported } from './tables.ts';

/** Rows of a row group: few enough that other work waits little while one is written. */
const ROWS_A_GROUP = 4000;

/**
 * Columns have the type of their field: instants are UTC milliseconds, dates are dates, unknown is null.
 *
 * @source Apache Parquet: LogicalTypes.md (DATE, TIMESTAMP, STRING)
 */
export async function* parquetOf<Row>({ table, pages }: Exported<Row>) {
  const writer = new ByteWriter();
  const file = new ParquetWriter({ writer, schema: parquetSchema(table), createdBy: 'coomb' });
  let rows: Row[] = [];
  function group(): Uint8Array {
    const columnData = table.fields.map((one) => ({
      name: one.name,
      data: rows.map((row) => parquetValue(one, row)),
      offsetIndex: false,
    }));
    file.write({ columnData, rowGroupSize: ROWS_A_GROUP });
    rows = [];
    return taken(writer);
  }
  for await (const page of pages()) {
    for (const row of page) {
      rows.push(row);
      if (rows.length < ROWS_A_GROUP) continue;
      yield group();
      await setImmediate();
    }
  }
  if (rows.length > 0) yield group();
  file.finish();
  yield taken(writer);
}

/** What was written since the last time; the writer goes on counting from the beginning of the file. */
function taken(writer: ByteWriter): Uint8Array {
  const bytes = writer.getBytes().slice();
  writer.index = 0;
  return bytes;
}

function parquetSchema<Row>({ fields }: Table<Row>): SchemaElement[] {
  return [
    { name: 'root', num_children: fields.length },
    ...fields.map(
      ({ name, type, required }): SchemaElement => ({
        name,
        repetition_type: required ? 'REQUIRED' : 'OPTIONAL',
        ...parquetTypes[type],
      }),
    ),
  ];
}

const text = { type: 'BYTE_ARRAY', converted_type: 'UTF8' } as const;
const parquetTypes: Readonly<Record<Field<never>['type'], Pick<SchemaElement, 'type' | 'converted_type'>>> = {
  string: text,
  array: text,
  integer: { type: 'INT32' },
  number: { type: 'DOUBLE' },
  boolean: { type: 'BOOLEAN' },
  datetime: { type: 'INT64', converted_type: 'TIMESTAMP_MILLIS' },
  date: { type: 'INT32', converted_type: 'DATE' },
};

function parquetValue<Row>({ type, of }: Field<Row>, row: Row): unknown {
  const value = of(row);
  if (value === null) return null;
  if (type === 'date') return new Date(value as string);
  return type === 'array' ? JSON.stringify(value) : value;
}
