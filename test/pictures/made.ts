import { deflateSync } from 'node:zlib';
import { createCanvas } from '@napi-rs/canvas';

/** Pictures made for tests, with metadata written by hand after the standards. */

/** A picture whose left half is red and whose right half is blue. */
export function twoColours(width: number, height: number, kind: 'jpeg' | 'png' | 'webp' = 'jpeg'): Promise<Buffer> {
  const canvas = createCanvas(width, height);
  const pen = canvas.getContext('2d');
  pen.fillStyle = '#c00000';
  pen.fillRect(0, 0, width / 2, height);
  pen.fillStyle = '#0000c0';
  pen.fillRect(width / 2, 0, width / 2, height);
  return kind === 'png' ? canvas.encode('png') : canvas.encode(kind, 95);
}

export interface Told {
  readonly takenAt?: string;
  readonly offset?: string;
  readonly orientation?: number;
  readonly maker?: string;
}

/** Where the made pictures say they were taken: 51° 28' 38", 0° 0' 5". */
const GPS = [
  [51, 28, 38],
  [0, 0, 5],
] as const;

interface Field {
  readonly tag: number;
  readonly type: 2 | 3 | 4 | 5;
  readonly data: Buffer;
}

const ascii = (tag: number, text: string): Field => ({ tag, type: 2, data: Buffer.from(`${text}\0`, 'latin1') });
const short = (tag: number, value: number): Field => {
  const data = Buffer.alloc(2);
  data.writeUInt16BE(value);
  return { tag, type: 3, data };
};
const long = (tag: number, value: number): Field => {
  const data = Buffer.alloc(4);
  data.writeUInt32BE(value);
  return { tag, type: 4, data };
};
const rationals = (tag: number, values: readonly number[]): Field => {
  const data = Buffer.alloc(8 * values.length);
  values.forEach((value, i) => {
    data.writeUInt32BE(value, 8 * i);
    data.writeUInt32BE(1, 8 * i + 4);
  });
  return { tag, type: 5, data };
};

/** An EXIF block in big-endian order with GPS. @source CIPA DC-008-2019, 4.6 */
export function exifBlock({ takenAt, offset, orientation, maker = 'Invented camera' }: Told): Buffer {
  const widths = { 2: 1, 3: 2, 4: 4, 5: 8 };
  const directoryAt = (at: number, fields: readonly Field[]): Buffer => {
    const sorted = [...fields].sort((a, b) => a.tag - b.tag);
    const head = Buffer.alloc(2 + 12 * sorted.length + 4);
    head.writeUInt16BE(sorted.length);
    const after: Buffer[] = [];
    let next = at + head.length;
    sorted.forEach(({ tag, type, data }, i) => {
      const entry = 2 + 12 * i;
      head.writeUInt16BE(tag, entry);
      head.writeUInt16BE(type, entry + 2);
      head.writeUInt32BE(data.length / widths[type], entry + 4);
      if (data.length <= 4) data.copy(head, entry + 8);
      else {
        head.writeUInt32BE(next, entry + 8);
        after.push(data);
        next += data.length;
      }
    });
    return Buffer.concat([head, ...after]);
  };
  const own = [
    ...(takenAt === undefined ? [] : [ascii(0x9003, takenAt)]),
    ...(offset === undefined ? [] : [ascii(0x9011, offset)]),
  ];
  const gps = [ascii(1, 'N'), rationals(2, GPS[0]), ascii(3, 'E'), rationals(4, GPS[1])];
  const main = (ownAt: number, gpsAt: number): Field[] => [
    ascii(0x010f, maker),
    ...(orientation === undefined ? [] : [short(0x0112, orientation)]),
    long(0x8769, ownAt),
    long(0x8825, gpsAt),
  ];
  const header = Buffer.from('4d4d002a00000008', 'hex');
  const ownAt = 8 + directoryAt(8, main(0, 0)).length;
  const ownPart = directoryAt(ownAt, own);
  const gpsAt = ownAt + ownPart.length;
  return Buffer.concat([header, directoryAt(8, main(ownAt, gpsAt)), ownPart, directoryAt(gpsAt, gps)]);
}

/** Puts an EXIF block and a comment into a JPEG file, as cameras do. @source ITU-T T.81, B.2.4 */
export function withExif(jpeg: Buffer, told: Told): Buffer {
  const segment = (marker: number, data: Buffer): Buffer => {
    const head = Buffer.from([0xff, marker, 0, 0]);
    head.writeUInt16BE(data.length + 2, 2);
    return Buffer.concat([head, data]);
  };
  return Buffer.concat([
    jpeg.subarray(0, 2),
    segment(0xe1, Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), exifBlock(told)])),
    segment(0xfe, Buffer.from('written on the way home from 7 Invented Lane')),
    jpeg.subarray(2),
  ]);
}

const crcTable = Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});
const crc = (bytes: Buffer): number => {
  let c = 0xffffffff;
  for (const byte of bytes) c = crcTable[(c ^ byte) & 255]! ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
};

/** A PNG file of a few kilobytes that unpacks to very many black pixels. */
export function bombPng(width: number, height: number): Buffer {
  const chunk = (name: string, data: Buffer): Buffer => {
    const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
    const head = Buffer.alloc(4);
    head.writeUInt32BE(data.length);
    const tail = Buffer.alloc(4);
    tail.writeUInt32BE(crc(body));
    return Buffer.concat([head, body, tail]);
  };
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([1, 0, 0, 0, 0], 8);
  const rows = deflateSync(Buffer.alloc(Math.min(height, 2000) * (1 + Math.ceil(width / 8))), { level: 9 });
  return Buffer.concat([
    Buffer.from('89504e470d0a1a0a', 'hex'),
    chunk('IHDR', header),
    chunk('IDAT', rows),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
