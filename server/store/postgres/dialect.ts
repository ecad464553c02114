import type { Dialect } from '../portfolio-sql.ts';

type Value = Parameters<Dialect['place']>[0];

/** The words of PostgreSQL, and the values that were given to one statement. */
export function dialect(): Dialect & { readonly values: readonly Value[] } {
  const values: Value[] = [];
  return {
    values,
    bytes: 'COLLATE "C"',
    last: 'chr(1114111)',
    oneOf: (expression, place, kind) => `${expression} = ANY (${place}::${kind === 'number' ? 'int' : 'text'}[])`,
    holds: (expression, place) => `strpos(${expression}, ${place}) > 0`,
    place(value) {
      values.push(value);
      // a number may be a whole one or not, and is compared with either
      const type = typeof value === 'number' ? (Number.isInteger(value) ? '::bigint' : '::float8') : '';
      return `$${values.length}${type}`;
    },
  };
}
