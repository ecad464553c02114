/** Type and length of a column of a file for COPY. */
export interface CopyColumn {
  readonly values: ArrayLike<number>;
  readonly type: 'integer' | 'bigint' | 'double precision';
}

const SIGNATURE = Buffer.from('PGCOPY\n\xff\r\n\0', 'latin1');
/** signature, flags, length of an extension of the head: none of both */
const HEAD_BYTES = SIGNATURE.length + 8;
const TRAILER = -1;
const WORD = 0x1_0000_0000;

const sizes = { integer: 4, bigint: 8, 'double precision': 8 } as const;

/**
 * Rows of numbers in the binary form of COPY, far cheaper than text; none of them is NULL.
 *
 * @param columns all of one length
 * @source PostgreSQL 15, COPY, "Binary Format"
 */
export function copyFile(columns: readonly CopyColumn[]): Buffer {
  const rows = columns[0]!.values.length;
  const rowBytes = 2 + columns.reduce((sum, { type }) => sum + 4 + sizes[type], 0);
  const bytes = Buffer.alloc(HEAD_BYTES + rows * rowBytes + 2);
  SIGNATURE.copy(bytes);
  let at = HEAD_BYTES;
  for (let row = 0; row < rows; row++) {
    at = bytes.writeInt16BE(columns.length, at);
    for (const { values, type } of columns) {
      const value = values[row]!;
      at = bytes.writeInt32BE(sizes[type], at);
      if (type === 'integer') at = bytes.writeInt32BE(value, at);
      else if (type === 'double precision') at = bytes.writeDoubleBE(value, at);
      else {
        const high = Math.floor(value / WORD);
        at = bytes.writeInt32BE(high, at);
        at = bytes.writeUInt32BE(value - high * WORD, at);
      }
    }
  }
  bytes.writeInt16BE(TRAILER, at);
  return bytes;
}
