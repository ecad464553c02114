/** What sentences are made with: numbers, units and dates as a reader writes them. */
export interface Write {
  number(value: number, places?: number): string;
  /** in the reader's unit */
  quantity(value: number, unit: string, places: number): string;
  plusMinus(
    figure: { readonly value: number; readonly plusMinus: number | null },
    unit: string,
    places: number,
  ): string;
  /** an instant as a date of the home, a clock time, or both */
  when(zone: string, instant: number | string, style: 'date' | 'time' | 'full'): string;
}

/** A space that does not break, between a number and its unit. */
export const NBSP = '\u00a0';

export const withUnit = (text: string, unit: string): string => (unit === '' ? text : `${text}${NBSP}${unit}`);

/** `16.4 ± 0.3 °C` of texts; without the second part where none is known. */
export const withGive = (value: string, give: string | null, unit: string): string =>
  withUnit(give === null ? value : `${value}${NBSP}±${NBSP}${give}`, unit);

const numbers = new Map<string, Intl.NumberFormat>();

/** @param tag BCP 47 */
export function numberIn(tag: string, value: number, places = 0): string {
  const key = `${tag} ${places}`;
  let format = numbers.get(key);
  if (format === undefined) {
    format = new Intl.NumberFormat(tag, { minimumFractionDigits: places, maximumFractionDigits: places });
    numbers.set(key, format);
  }
  const text = format.format(value);
  // Neither "-0" nor "-0.0" is a reading.
  return /^[-−]0([.,]0+)?$/.test(text) ? format.format(0) : text.replace('-', '−');
}

/** A half width that rounds to nothing still is something. */
export const halfWidthIn = (tag: string, value: number, places: number): string =>
  numberIn(tag, Math.max(value, value > 0 ? 10 ** -places : 0), places);

const dates = new Map<string, Intl.DateTimeFormat>();

const styles = {
  time: { hour: '2-digit', minute: '2-digit' },
  day: { day: 'numeric', month: 'short' },
  weekday: { weekday: 'short', day: 'numeric', month: 'short' },
  date: { day: 'numeric', month: 'short', year: 'numeric' },
  month: { month: 'short' },
  monthYear: { month: 'short', year: '2-digit' },
  moment: { weekday: 'short', day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' },
  full: { day: 'numeric', month: 'short', year: 'numeric', hour: '2-digit', minute: '2-digit' },
} as const satisfies Record<string, Intl.DateTimeFormatOptions>;

export type DateStyle = keyof typeof styles;

/** An instant in an IANA time zone, in one of a few lengths. */
export function momentIn(tag: string, zone: string, instant: number | string, style: DateStyle): string {
  const key = `${tag} ${zone} ${style}`;
  let format = dates.get(key);
  if (format === undefined) {
    format = new Intl.DateTimeFormat(tag, { ...styles[style], timeZone: zone });
    dates.set(key, format);
  }
  return format.format(typeof instant === 'string' ? Date.parse(instant) : instant);
}

/** Numbers and dates of a language and country, temperatures in °C: of a reader of whom no more is known. */
export function writeIn(tag: string): Write {
  const number: Write['number'] = (value, places) => numberIn(tag, value, places);
  return {
    number,
    quantity: (value, unit, places) => withUnit(number(value, places), unit),
    plusMinus: ({ value, plusMinus }, unit, places) =>
      withGive(number(value, places), plusMinus === null ? null : halfWidthIn(tag, plusMinus, places), unit),
    when: (zone, instant, style) => momentIn(tag, zone, instant, style),
  };
}
