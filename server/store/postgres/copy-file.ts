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
  // several times as fast as the methods of a Buffer, which check what they are given
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let row = 0; row < rows; row++) view.setInt16(HEAD_BYTES + row * rowBytes, columns.length);
  let first = HEAD_BYTES + 2;
  for (const { values, type } of columns) {
    const size = sizes[type];
    for (let row = 0, at = first; row < rows; row++, at += rowBytes) {
      const value = values[row]!;
      view.setInt32(at, size);
      if (type === 'integer') view.setInt32(at + 4, value);
      else if (type === 'double precision') view.setFloat64(at + 4, value);
      else {
        const high = Math.floor(value / WORD);
        view.setInt32(at + 4, high);
        view.setUint32(at + 8, value - high * WORD);
      }
    }
    first += 4 + size;
  }
  view.setInt16(HEAD_BYTES + rows * rowBytes, TRAILER);
  return bytes;
}
