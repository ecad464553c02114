import { civilTime, epochTime, offsetMinutes } from './timestamp.ts';

/** Which of day, month and year comes first; `epoch` counts seconds or milliseconds from 1970. */
export type DateOrder = 'ymd' | 'dmy' | 'mdy' | 'epoch';

/** Civil date and time as if it were UTC ms; with the minutes east of UTC where the cell names them. */
export interface Stamp {
  readonly civil: number;
  readonly offset: number | null;
}

const yearFirst = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})/;
const yearLast = /^(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})(?!\d)/;
const dayTime =
  /^(?:[Tt]|,?\s+)(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?(?:\s*([AaPp])\.?[Mm]\.?)?\s*(Z|z|UTC|GMT|[+-]\d{2}(?::?\d{2})?)?$/;
const epochCell = /^\d{9,13}(?:\.\d+)?$/;

export interface DateParts {
  readonly order: 'year-first' | 'year-last';
  readonly first: number;
  readonly second: number;
  readonly third: number;
  /** what follows the date */
  readonly rest: string;
}

export function dateParts(text: string): DateParts | null {
  const early = yearFirst.exec(text);
  if (early !== null) {
    const [whole, first, second, third] = early;
    return { order: 'year-first', first: +first!, second: +second!, third: +third!, rest: text.slice(whole.length) };
  }
  const late = yearLast.exec(text);
  if (late === null) return null;
  const [whole, first, second, third] = late;
  const year = third!.length === 2 ? 2000 + +third! : +third!;
  return { order: 'year-last', first: +first!, second: +second!, third: year, rest: text.slice(whole.length) };
}

/** Whether a cell has the shape of a date with a time of day, in any order, or of an epoch. */
export function looksLikeStamp(text: string): boolean {
  const parts = dateParts(text);
  return parts === null ? false : dayTime.test(parts.rest);
}

export const looksLikeDate = (text: string): boolean => dateParts(text)?.rest === '';
export const looksLikeTimeOfDay = (text: string): boolean => dayTime.test(` ${text}`);
export const looksLikeEpoch = (text: string): boolean => epochCell.test(text);

/** The date and time in a cell, or null when there is none of that order. */
export function readStamp(text: string, order: DateOrder): Stamp | null {
  if (order === 'epoch') return epochCell.test(text) ? { civil: epochTime(Number(text)), offset: 0 } : null;
  const parts = dateParts(text);
  if (parts === null || (parts.order === 'year-first') !== (order === 'ymd')) return null;
  const match = dayTime.exec(parts.rest);
  if (match === null) return null;
  const { first, second, third } = parts;
  const [year, month, day] =
    order === 'ymd' ? [first, second, third] : order === 'dmy' ? [third, second, first] : [third, first, second];
  let hour = +match[1]!;
  const half = match[5]?.toLowerCase();
  if (half !== undefined) {
    if (hour < 1 || hour > 12) return null;
    hour = (hour % 12) + (half === 'p' ? 12 : 0);
  }
  const ms = Number((match[4] ?? '').slice(0, 3).padEnd(3, '0'));
  const civil = civilTime(year, month, day, hour, +match[2]!, +(match[3] ?? 0), ms);
  if (civil === null) return null;
  const zone = match[6];
  if (zone === undefined) return { civil, offset: null };
  const offset = /^(?:utc|gmt)$/i.test(zone) ? 0 : offsetMinutes(zone);
  return offset === null ? null : { civil, offset };
}

const plain = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$/;
const withComma = /^[+-]?(?:\d+(?:,\d*)?|,\d+)(?:[eE][+-]?\d+)?$/;
const missing = /^(?:|-+|n\/?a|nan|null|none|#n\/a|\?)$/i;

export const isMissing = (text: string): boolean => missing.test(text);
export const looksLikeNumber = (text: string): boolean => plain.test(text) || withComma.test(text);
export const hasDecimalComma = (text: string): boolean => withComma.test(text) && text.includes(',');
export const hasDecimalPoint = (text: string): boolean => plain.test(text) && text.includes('.');

/** The number in a cell, or null when it is none. */
export function readNumber(text: string, decimal: '.' | ','): number | null {
  if (decimal === '.' ? !plain.test(text) : !withComma.test(text)) return null;
  const value = Number(decimal === '.' ? text : text.replace(',', '.'));
  return Number.isFinite(value) ? value : null;
}
