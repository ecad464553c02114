import { createHmac } from 'node:crypto';
import { quantities } from '../physics/quantities.ts';
import type { DaySeal, JournalEntry, SeriesSeal } from './port-provenance.ts';

/**
 * The lines that digests are made of: plain text, each ended by a line feed, so that anyone can make them again with
 * common tools and sum them up with `sha256sum`. Where several lines are summed up they stand in the order of
 * `LC_ALL=C sort`, but for the journal, which keeps its own order.
 */

export const DAY_MS = 86_400_000;

/** Stands for the link before the first. */
export const NO_ENTRY = '0'.repeat(64);

/** Number of the UTC day of an instant, counted from 1970. */
export const dayOf = (time: number): number => Math.floor(time / DAY_MS);

/** e.g. 2026-01-14 */
export function dayText(day: number): string {
  // readings come day by day, and there are many of each
  if (day !== lastDay.day) lastDay = { day, text: new Date(day * DAY_MS).toISOString().slice(0, 10) };
  return lastDay.text;
}
let lastDay = { day: 0, text: '1970-01-01' };

const two = Array.from({ length: 60 }, (_, value) => String(value).padStart(2, '0'));

/** e.g. 2026-01-14T06:30:00.000Z */
export function timeText(time: number): string {
  const day = dayOf(time);
  const ms = time - day * DAY_MS;
  const minutes = Math.floor(ms / 60_000);
  const clock = `${two[Math.floor(minutes / 60)]}:${two[minutes % 60]}:${two[Math.floor(ms / 1000) % 60]}`;
  return `${dayText(day)}T${clock}.${String(ms % 1000).padStart(3, '0')}Z`;
}

type OfSeries = Pick<SeriesSeal, 'sensorId' | 'quantity'>;

/** Begins every line of a series; the series of a day are summed up in the order of these. */
export const seriesPrefix = ({ sensorId, quantity }: OfSeries): string => `${sensorId},${quantities[quantity].wire},`;

/** One reading, behind the prefix of its series: time and value, the shortest text that gives the value back. */
export const readingLine = (prefix: string, time: number, value: number): string =>
  `${prefix}${timeText(time)},${value}\n`;

export const seriesLine = (seal: SeriesSeal): string =>
  `${dayText(seal.day)},${seriesPrefix(seal)}${seal.readings},${timeText(seal.first)},${timeText(seal.last)},${seal.digest}\n`;

export const changeLine = ({ id, at, subject, subjectId, content }: JournalEntry): string =>
  `${id},${timeText(at)},${subject},${subjectId},${content}\n`;

/** What stands in the journal for a picture. */
export const pictureDigest = (sha256: string): string => `sha256:${sha256}`;

/** What stands in the journal for what people wrote. */
export const writtenDigest = (text: string, textKey: string): string =>
  `hmac-sha256:${createHmac('sha256', Buffer.from(textKey, 'hex')).update(text).digest('hex')}`;

/** The line whose digest is the entry of a day. */
export const dayLine = (seal: Omit<DaySeal, 'entry' | 'sealedAt'>): string =>
  `${[
    dayText(seal.day),
    seal.readings,
    seal.readingsDigest,
    seal.firstChange ?? '',
    seal.lastChange ?? '',
    seal.changesDigest,
    seal.previous,
  ].join(',')}\n`;

/** Order of `LC_ALL=C sort` for texts of ASCII characters. */
export const byBytes = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);
