const DIGITS = 9;

/**
 * A plain result with every number that is not whole cut to nine significant digits: far finer than anything measured,
 * and coarser than the last bits in which two machines' exponentials may differ.
 */
export function rounded<T>(value: T): T {
  if (typeof value === 'number') return (Number.isInteger(value) ? value : Number(value.toPrecision(DIGITS))) as T;
  if (Array.isArray(value)) return value.map(rounded) as T;
  if (value !== null && typeof value === 'object') {
    return Object.fromEntries(Object.entries(value).map(([key, own]) => [key, rounded(own)])) as T;
  }
  return value;
}
