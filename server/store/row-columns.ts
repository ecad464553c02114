/** Names of the fields of `T` beside the columns that hold them. */
export type Columns<T> = { readonly [Field in keyof T]-?: string };

/** `column AS "field", ...`, so that a row comes out as the port's type. */
export const selectList = (columns: Record<string, string>): string =>
  Object.entries(columns)
    .map(([field, column]) => `${column} AS "${field}"`)
    .join(', ');

/** Lays `change` over a row, refusing fields that the row does not have or that say which row it is. */
export function merge<T extends object>(
  row: T,
  change: { readonly [K in keyof NoInfer<T>]?: NoInfer<T>[K] | undefined },
): T {
  for (const field of Object.keys(change)) {
    if (!(field in row) || field === 'id' || field === 'dwellingId') {
      throw new RangeError(`'${field}' cannot be changed; fields are ${Object.keys(row).join(', ')}`);
    }
  }
  const given = Object.entries(change).filter(([, value]) => value !== undefined);
  return { ...row, ...Object.fromEntries(given) };
}
