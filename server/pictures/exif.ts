/** When a picture was taken, by its camera's clock. */
export interface TakenAt {
  /** what the clock showed, written as the UTC milliseconds of the same digits */
  readonly wall: number;
  /** minutes east of UTC; null: the camera did not say */
  readonly offsetMinutes: number | null;
}

const EXIF_IFD = 0x8769;
const DATE_TIME_ORIGINAL = 0x9003;
const OFFSET_TIME_ORIGINAL = 0x9011;
const LONGEST_TEXT = 64;

/**
 * Reads DateTimeOriginal, and OffsetTimeOriginal where it is there, of an EXIF block. Whatever is odd in the block,
 * the answer is that the time is not known; nothing else of it is read.
 *
 * @source CIPA DC-008-2019 (Exif 2.32), 4.6.3 and 4.6.5
 */
export function takenAt(exif: Uint8Array): TakenAt | null {
  try {
    const view = new DataView(exif.buffer, exif.byteOffset, exif.byteLength);
    const order = view.getUint16(0);
    if (order !== 0x4949 && order !== 0x4d4d) return null;
    const little = order === 0x4949;
    if (view.getUint16(2, little) !== 42) return null;
    const first = directory(view, view.getUint32(4, little), little);
    const own = first.get(EXIF_IFD);
    if (own === undefined) return null;
    const entries = directory(view, view.getUint32(own + 8, little), little);
    const at = entries.get(DATE_TIME_ORIGINAL);
    if (at === undefined) return null;
    const offset = entries.get(OFFSET_TIME_ORIGINAL);
    const wall = wallOf(text(exif, view, at, little));
    return wall === null
      ? null
      : { wall, offsetMinutes: offset === undefined ? null : minutesOf(text(exif, view, offset, little)) };
  } catch (error) {
    // it points outside itself
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/** Where the entries of a directory stand, by tag. */
function directory(view: DataView, at: number, little: boolean): Map<number, number> {
  const entries = new Map<number, number>();
  const count = view.getUint16(at, little);
  for (let i = 0; i < count; i++) {
    const entry = at + 2 + 12 * i;
    entries.set(view.getUint16(entry, little), entry);
  }
  return entries;
}

function text(exif: Uint8Array, view: DataView, entry: number, little: boolean): string {
  const length = view.getUint32(entry + 4, little);
  if (length > LONGEST_TEXT) return '';
  const at = length <= 4 ? entry + 8 : view.getUint32(entry + 8, little);
  return String.fromCharCode(...exif.subarray(at, at + length)).replace(/\0.*$/s, '');
}

function wallOf(stamp: string): number | null {
  const parts = /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)$/.exec(stamp)?.slice(1).map(Number);
  if (parts === undefined) return null;
  const [year, month, day, hour, minute, second] = parts as [number, number, number, number, number, number];
  const wall = Date.UTC(year, month - 1, day, hour, minute, second);
  const back = new Date(wall);
  const exact = back.getUTCMonth() === month - 1 && back.getUTCDate() === day && back.getUTCHours() === hour;
  return exact && minute < 60 && second < 60 ? wall : null;
}

function minutesOf(offset: string): number | null {
  const parts = /^([+-])(\d\d):(\d\d)$/.exec(offset);
  if (parts === null) return null;
  const minutes = Number(parts[2]) * 60 + Number(parts[3]);
  return minutes <= 14 * 60 ? (parts[1] === '-' ? -minutes : minutes) : null;
}
