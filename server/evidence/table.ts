import { timeText } from '../store/canonical.ts';
import { cellsOfLine, csvLine, textCell, textOfCell } from './cells.ts';

/** Types of Table Schema that the tables of a pack use. */
export type FieldType = 'string' | 'integer' | 'number' | 'boolean' | 'datetime' | 'date' | 'array';

/** Field of a Table Schema, and how a row fills it. Missing is an empty cell. */
export interface Field<Row> {
  /** ends in its unit where it has one */
  readonly name: string;
  readonly type: FieldType;
  readonly description: string;
  readonly required?: true;
  readonly oneOf?: readonly string[];
  readonly of: (row: Row) => string | number | boolean | readonly unknown[] | null;
}

export interface Table<Row> {
  /** lower-case name of the resource */
  readonly name: string;
  readonly title: string;
  readonly fields: readonly Field<Row>[];
  readonly primaryKey: readonly string[];
}

/** A cell read back: instants are milliseconds. */
export type Cell = string | number | boolean | readonly unknown[] | null;

export const headerOf = <Row>(table: Table<Row>): string => csvLine(table.fields.map(({ name }) => name));

export function lineOf<Row>(table: Table<Row>, row: Row): string {
  return csvLine(table.fields.map((field) => cellOf(field, field.of(row))));
}

function cellOf<Row>({ type }: Field<Row>, value: ReturnType<Field<Row>['of']>): string {
  if (value === null) return '';
  if (type === 'datetime') return timeText(value as number);
  if (type === 'array') return JSON.stringify(value);
  return typeof value === 'string' ? textCell(value) : String(value);
}

/**
 * The cells of a line by name of field.
 *
 * @throws RangeError saying which field is wrong and how
 */
export function rowOfLine<Row>(table: Table<Row>, line: string): Record<string, Cell> {
  const cells = cellsOfLine(line);
  if (cells.length !== table.fields.length) {
    throw new RangeError(`the row has ${cells.length} cells; there must be ${table.fields.length}`);
  }
  return Object.fromEntries(table.fields.map((field, k) => [field.name, readCell(field, cells[k]!)]));
}

const INSTANT = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;

export function readCell(field: Pick<Field<never>, 'name' | 'type' | 'required' | 'oneOf'>, cell: string): Cell {
  const { name, type, required, oneOf } = field;
  const wrong = (must: string): RangeError => new RangeError(`${name} is "${cell.slice(0, 60)}"; it must be ${must}`);
  if (cell === '') {
    if (required) throw wrong('there');
    return null;
  }
  switch (type) {
    case 'string': {
      const text = textOfCell(cell);
      if (oneOf && !oneOf.includes(text)) throw wrong(`one of ${oneOf.join(', ')}`);
      return text;
    }
    case 'integer':
      if (!/^-?\d+$/.test(cell) || !Number.isSafeInteger(Number(cell))) throw wrong('a whole number');
      return Number(cell);
    case 'number':
      if (!/^-?\d+(\.\d+)?(e[+-]?\d+)?$/i.test(cell)) throw wrong('a number');
      return Number(cell);
    case 'boolean':
      if (cell !== 'true' && cell !== 'false') throw wrong('true or false');
      return cell === 'true';
    case 'datetime': {
      const time = INSTANT.test(cell) ? Date.parse(cell) : Number.NaN;
      if (Number.isNaN(time)) throw wrong('an instant such as 2026-01-14T06:30:00.000Z');
      return time;
    }
    case 'date':
      if (!/^\d{4}-\d\d-\d\d$/.test(cell) || Number.isNaN(Date.parse(cell))) throw wrong('a date such as 2026-01-14');
      return cell;
    case 'array': {
      try {
        const value: unknown = JSON.parse(cell);
        if (Array.isArray(value)) return value;
      } catch {
        // said below
      }
      throw wrong('a JSON array');
    }
  }
}

/** The Table Schema of a table, as its standard has it. @source Frictionless Table Schema v1 */
export const schemaOf = <Row>({ fields, primaryKey }: Table<Row>) => ({
  fields: fields.map(({ name, type, description, required, oneOf }) => ({
    name,
    type,
    description,
    ...(type === 'datetime' ? { format: '%Y-%m-%dT%H:%M:%S.%fZ' } : {}),
    constraints: { ...(required ? { required: true } : {}), ...(oneOf ? { enum: [...oneOf] } : {}) },
  })),
  missingValues: [''],
  primaryKey: [...primaryKey],
});
