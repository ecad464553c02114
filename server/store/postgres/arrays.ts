/**
 * Columns of numbers cross to the engine and back in binary form, far cheaper than text where there are thousands: to it as
 * its own arrays, five words of a head and then each entry behind its length, and from it as numbers end to end.
 */

const INT8 = 20;
const INT4 = 23;
const FLOAT8 = 701;
const HEAD_BYTES = 20;

function writeArray(
  type: number,
  size: number,
  values: ArrayLike<number>,
  write: (bytes: Buffer, at: number, value: number) => void,
): Buffer {
  const bytes = Buffer.allocUnsafe(HEAD_BYTES + values.length * (4 + size));
  // dimensions, whether NULL is among the entries, their type, their count, the first index
  for (const [k, word] of [1, 1, type, values.length, 1].entries()) bytes.writeInt32BE(word, 4 * k);
  let at = HEAD_BYTES;
  for (let k = 0; k < values.length; k++) {
    const isMissing = Number.isNaN(values[k]);
    bytes.writeInt32BE(isMissing ? -1 : size, at);
    at += 4;
    if (isMissing) continue;
    write(bytes, at, values[k]!);
    at += size;
  }
  return bytes.subarray(0, at);
}

const WORD = 0x1_0000_0000;

/** For a parameter `$n::int[]`. In all three NaN is NULL. */
export const int4s = (values: ArrayLike<number>): Buffer =>
  writeArray(INT4, 4, values, (bytes, at, value) => bytes.writeInt32BE(value, at));

/** For a parameter `$n::bigint[]`: whole numbers that a JavaScript number holds exactly. */
export const int8s = (values: ArrayLike<number>): Buffer =>
  writeArray(INT8, 8, values, (bytes, at, value) => {
    const high = Math.floor(value / WORD);
    bytes.writeInt32BE(high, at);
    bytes.writeUInt32BE(value - high * WORD, at + 4);
  });

/** For a parameter `$n::float8[]`. */
export const float8s = (values: ArrayLike<number>): Buffer =>
  writeArray(FLOAT8, 8, values, (bytes, at, value) => bytes.writeDoubleBE(value, at));

/**
 * SQL that sends the values of an expression over all rows as numbers of eight bytes, to be read by {@link numbersIn}.
 *
 * @param order how they are ordered; left out: as the rows come
 */
export const sendAll = (expression: string, order = ''): string =>
  `string_agg(float8send(coalesce((${expression})::float8, 'NaN')), ''${order && ` ORDER BY ${order}`})`;

/** What {@link sendAll} sent: NULL is NaN, no rows are an empty array. */
export function numbersIn(sent: Buffer | null): Float64Array {
  if (sent === null) return new Float64Array(0);
  const view = new DataView(sent.buffer, sent.byteOffset, sent.byteLength);
  const values = new Float64Array(sent.byteLength / 8);
  for (let k = 0; k < values.length; k++) values[k] = view.getFloat64(8 * k);
  return values;
}
