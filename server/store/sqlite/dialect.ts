import type { Dialect } from '../portfolio-sql.ts';

/** The words of SQLite, and the values that were given to one statement. */
export function dialect(): Dialect & { readonly values: Readonly<Record<string, string | number>> } {
  const values: Record<string, string | number> = {};
  return {
    values,
    bytes: 'COLLATE BINARY',
    last: 'char(0x10FFFF)',
    oneOf: (expression, place) => `${expression} IN (SELECT value FROM json_each(${place}))`,
    holds: (expression, place) => `instr(${expression}, ${place}) > 0`,
    place(value) {
      const name = `v${Object.keys(values).length + 1}`;
      values[name] = typeof value === 'object' ? JSON.stringify(value) : value;
      return `$${name}`;
    },
  };
}
