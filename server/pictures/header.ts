/** What the first bytes of a picture say of it, read without decoding any of its pixels. */
export interface PictureHeader {
  readonly kind: 'jpeg' | 'png' | 'webp';
  /** as stored, before it is turned the right way up */
  readonly width: number;
  readonly height: number;
  /** whether its end is there; a decoder would show what is missing as grey or blank */
  readonly whole: boolean;
  /** its EXIF block (TIFF structure), wherever the form keeps it; null: none */
  readonly exif: Uint8Array | null;
}

/**
 * Reads kind, size and EXIF of a picture from its content; its name is not asked. Where a form states sizes more than
 * once, the largest counts, so that a small one cannot hide a large one.
 *
 * @returns null where the bytes are no JPEG, PNG or WebP, or break off before the size is told
 * @source ITU-T T.81, annex B (JPEG); W3C PNG, third edition, 5.3 and 11; RFC 9649, 2 (WebP)
 */
export function pictureHeader(bytes: Uint8Array): PictureHeader | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  try {
    if (view.getUint16(0) === 0xffd8) return jpegHeader(bytes, view);
    if (view.getUint32(0) === 0x89504e47 && view.getUint32(4) === 0x0d0a1a0a) return pngHeader(bytes, view);
    if (textAt(bytes, 0, 4) === 'RIFF' && textAt(bytes, 8, 4) === 'WEBP') return webpHeader(bytes, view);
  } catch (error) {
    // the bytes end within what they announce
    if (!(error instanceof RangeError)) throw error;
  }
  return null;
}

const textAt = (bytes: Uint8Array, at: number, length: number): string =>
  String.fromCharCode(...bytes.subarray(at, at + length));

const known = (
  kind: PictureHeader['kind'],
  size: Size,
  exif: Uint8Array | null,
  whole: boolean,
): PictureHeader | null =>
  size.width > 0 && size.height > 0 ? { kind, width: size.width, height: size.height, exif, whole } : null;

interface Size {
  width: number;
  height: number;
}
const larger = (a: Size, b: Size): Size => (a.width * a.height >= b.width * b.height ? a : b);
const nothing: Size = { width: 0, height: 0 };

const EXIF_NAME = 'Exif\0\0';

/** Frame headers SOF0 to SOF15; C4, C8 and CC in between are something else. */
const isFrame = (marker: number): boolean =>
  marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;

function jpegHeader(bytes: Uint8Array, view: DataView): PictureHeader | null {
  let exif: Uint8Array | null = null;
  let size = nothing;
  for (let at = 2; at + 2 <= bytes.length; ) {
    if (bytes[at] !== 0xff) break;
    const marker = bytes[at + 1]!;
    if (marker === 0xff) {
      at++;
      continue;
    }
    if (marker === 0xd9) return known('jpeg', size, exif, true);
    if (at + 4 > bytes.length) break;
    const length = view.getUint16(at + 2);
    if (length < 2) break;
    if (isFrame(marker)) size = larger(size, { height: view.getUint16(at + 5), width: view.getUint16(at + 7) });
    if (marker === 0xe1 && textAt(bytes, at + 4, 6) === EXIF_NAME) exif ??= bytes.subarray(at + 10, at + 2 + length);
    at += 2 + length;
    if (marker === 0xda) at = endOfScan(bytes, at);
  }
  return known('jpeg', size, exif, false);
}

/** Where the next marker stands after coded data, in which FF 00 is a byte and FF D0 to FF D7 are restarts. */
function endOfScan(bytes: Uint8Array, from: number): number {
  for (let at = bytes.indexOf(0xff, from); at >= 0; at = bytes.indexOf(0xff, at + 1)) {
    const next = bytes[at + 1];
    if (next !== 0 && next !== 0xff && !(next !== undefined && next >= 0xd0 && next <= 0xd7)) return at;
  }
  return bytes.length;
}

function pngHeader(bytes: Uint8Array, view: DataView): PictureHeader | null {
  if (textAt(bytes, 12, 4) !== 'IHDR') return null;
  const size = { width: view.getUint32(16), height: view.getUint32(20) };
  let exif: Uint8Array | null = null;
  let whole = false;
  for (let at = 8; at + 12 <= bytes.length; at += 12 + view.getUint32(at)) {
    const name = textAt(bytes, at + 4, 4);
    if (name === 'eXIf') exif ??= bytes.subarray(at + 8, at + 8 + view.getUint32(at));
    whole ||= name === 'IEND';
  }
  return known('png', size, exif, whole);
}

function webpHeader(bytes: Uint8Array, view: DataView): PictureHeader | null {
  let exif: Uint8Array | null = null;
  let size = nothing;
  for (let at = 12; at + 8 <= bytes.length; ) {
    const length = view.getUint32(at + 4, true);
    const data = at + 8;
    switch (textAt(bytes, at, 4)) {
      case 'VP8X':
        size = larger(size, { width: 1 + threeBytes(bytes, data + 4), height: 1 + threeBytes(bytes, data + 7) });
        break;
      case 'ANMF':
        size = larger(size, { width: 1 + threeBytes(bytes, data + 6), height: 1 + threeBytes(bytes, data + 9) });
        break;
      case 'VP8 ':
        size = larger(size, {
          width: view.getUint16(data + 6, true) & 0x3fff,
          height: view.getUint16(data + 8, true) & 0x3fff,
        });
        break;
      case 'VP8L': {
        const packed = view.getUint32(data + 1, true);
        size = larger(size, { width: 1 + (packed & 0x3fff), height: 1 + ((packed >>> 14) & 0x3fff) });
        break;
      }
      case 'EXIF': {
        const block = bytes.subarray(data, data + length);
        exif ??= textAt(block, 0, 6) === EXIF_NAME ? block.subarray(6) : block;
        break;
      }
    }
    // chunks begin at even places
    at = data + length + (length % 2);
  }
  return known('webp', size, exif, 8 + view.getUint32(4, true) <= bytes.length);
}

const threeBytes = (bytes: Uint8Array, at: number): number =>
  (bytes[at] ?? 0) | ((bytes[at + 1] ?? 0) << 8) | ((bytes[at + 2] ?? 0) << 16);
