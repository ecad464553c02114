/**
 * Arrays of numbers cross to the engine and back in its own binary form, five words of a head and then each entry behind
 * its length: far cheaper than text for columns of thousands of readings.
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

const readers: Record<number, (bytes: Buffer, at: number) => number> = {
  [INT4]: (bytes, at) => bytes.readInt32BE(at),
  [INT8]: (bytes, at) => bytes.readInt32BE(at) * WORD + bytes.readUInt32BE(at + 4),
  [FLOAT8]: (bytes, at) => bytes.readDoubleBE(at),
};

/** SQL that sends the values of an expression over all rows as one array, to be read by {@link numbersIn}. */
export const sendAll = (expression: string): string => `array_send(array_agg(${expression}))`;

/** What {@link sendAll} sent: NULL is NaN, no rows are an empty array. */
export function numbersIn(sent: Buffer | null): Float64Array {
  if (sent === null || sent.readInt32BE(0) === 0) return new Float64Array(0);
  const read = readers[sent.readInt32BE(8)];
  if (read === undefined) throw new Error(`an array of type ${sent.readInt32BE(8)} holds no numbers known here`);
  const values = new Float64Array(sent.readInt32BE(12));
  for (let k = 0, at = HEAD_BYTES; k < values.length; k++) {
    const length = sent.readInt32BE(at);
    values[k] = length === -1 ? Number.NaN : read(sent, at + 4);
    at += 4 + Math.max(0, length);
  }
  return values;
}
