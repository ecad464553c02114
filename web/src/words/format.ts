import type { Estimate } from '../../../server/api/contract/comparison.ts';
import { type DateStyle, halfWidthIn, momentIn, numberIn, withGive, withUnit } from '../../../server/words/writing.ts';
import { preferences } from '../preferences.ts';
import { writtenTag } from './spoken.ts';
import { words } from './words.ts';

export { NBSP, withUnit } from '../../../server/words/writing.ts';

/**
 * Numbers and dates as the reader's language and country write them; temperatures in the reader's unit.
 * Rounding and conversion happen here and nowhere else.
 */
const locale = (): string => writtenTag(preferences.value.language);

/** The reader's unit in the place of one of ours: °C for temperatures, K for their differences. Others stay. */
export const readerUnit = (unit: string): string =>
  preferences.value.temperature === 'fahrenheit' && (unit === '°C' || unit === 'K') ? '°F' : unit;

/**
 * A value in the reader's unit. A temperature is shifted and scaled, a difference (K) is scaled alone.
 *
 * @source NIST SP 811 (2008), appendix B.8: t/°C = (t/°F - 32)/1.8
 */
export const inReaderUnit = (value: number, unit: string): number =>
  readerUnit(unit) === unit ? value : unit === '°C' ? value * 1.8 + 32 : value * 1.8;

/** The width of an interval round a value of this unit, in the reader's. */
export const widthInReaderUnit = (width: number, unit: string): number =>
  inReaderUnit(width, unit === '°C' ? 'K' : unit);

/** Digits after the point, by what is measured: no finer than the sensors can tell. */
export const digits = {
  temperature: 1,
  kelvin: 1,
  percent: 0,
  pascal: 0,
  factor: 2,
  share: 0,
  count: 0,
  index: 1,
} as const;

export const number = (value: number, places = 0): string => numberIn(locale(), value, places);

export const quantity = (value: number, unit: string, places: number): string =>
  withUnit(number(inReaderUnit(value, unit), places), readerUnit(unit));

/** `1.2 to 3.4 K` */
export const range = (low: number, high: number, unit: string, places: number): string =>
  words.to(number(inReaderUnit(low, unit), places), quantity(high, unit, places));

/** A figure taken apart, for where its give is set smaller than its value. */
export interface FigureParts {
  readonly value: string;
  readonly give: string | null;
  readonly unit: string;
}

export const parts = (
  figure: { readonly value: number; readonly plusMinus: number | null },
  unit: string,
  places: number,
): FigureParts => ({
  value: number(inReaderUnit(figure.value, unit), places),
  give: figure.plusMinus === null ? null : halfWidthIn(locale(), widthInReaderUnit(figure.plusMinus, unit), places),
  unit: readerUnit(unit),
});

/** `16.4 ± 0.3 °C`; without the second part where none is known. */
export function plusMinus(
  figure: { readonly value: number; readonly plusMinus: number | null },
  unit: string,
  places: number,
): string {
  const { value, give, unit: shown } = parts(figure, unit, places);
  return withGive(value, give, shown);
}

/** `0.52 ± 0.03` where the interval is even, `7 (2 to 12)` where it is not. */
export function estimate(figure: Estimate, unit: string, places: number): string {
  const up = widthInReaderUnit(figure.high - figure.value, unit);
  const down = widthInReaderUnit(figure.value - figure.low, unit);
  if (up === 0 && down === 0) return quantity(figure.value, unit, places);
  if (number(up, places) === number(down, places)) {
    return plusMinus({ value: figure.value, plusMinus: (figure.high - figure.low) / 2 }, unit, places);
  }
  const end = (value: number): string => number(inReaderUnit(value, unit), places);
  return `${quantity(figure.value, unit, places)} (${words.to(end(figure.low), end(figure.high))})`;
}

/** The interval alone, `2 to 12`; null where the figure is exact. */
export const ends = (figure: Estimate, places: number): string | null =>
  figure.low === figure.high ? null : words.to(number(figure.low, places), number(figure.high, places));

/** An instant in the dwelling's zone, in one of a few lengths. */
export const when = (zone: string, instant: number | string, style: DateStyle): string =>
  momentIn(locale(), zone, instant, style);

/** `4 minutes ago`, in the largest unit that fits. */
export function ago(instant: number | string, now: number): string {
  const seconds = Math.round(((typeof instant === 'string' ? Date.parse(instant) : instant) - now) / 1000);
  const relative = new Intl.RelativeTimeFormat(locale(), { numeric: 'auto' });
  const size = Math.abs(seconds);
  if (size < 60) return relative.format(0, 'second');
  if (size < 3600) return relative.format(Math.round(seconds / 60), 'minute');
  if (size < 2 * 86_400) return relative.format(Math.round(seconds / 3600), 'hour');
  return relative.format(Math.round(seconds / 86_400), 'day');
}

/** The first sentence of a text, and the rest. A point within a number ends nothing. */
export function firstSentence(text: string): readonly [string, string] {
  const end = text.search(/[.!?]\s+\p{Lu}/u);
  return end < 0 ? [text, ''] : [text.slice(0, end + 1), text.slice(end + 1).trim()];
}
