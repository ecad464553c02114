/** 2000-01-01T00:00:00Z. A device whose clock was never set counts from 1970; nothing this program watches is older. */
export const EARLIEST_TIME = Date.UTC(2000, 0, 1);

/**
 * Below this an epoch counts seconds, from it on milliseconds: 1e11 s is the year 5138, 1e11 ms is March 1973, so no
 * instant a reading can have is ambiguous.
 */
const SECONDS_BELOW = 1e11;

export type TimestampFault = 'wrong-type' | 'bad-time' | 'time-without-offset';

export type Timestamp =
  | { readonly kind: 'instant'; readonly time: number }
  | { readonly kind: 'fault'; readonly code: TimestampFault; readonly message: string };

/** UTC ms of an epoch in seconds (below 1e11, fractions allowed) or milliseconds (1e11 and above). */
export const epochTime = (epoch: number): number => Math.round(epoch < SECONDS_BELOW ? epoch * 1000 : epoch);

const iso =
  /^(\d{4})-(\d{2})-(\d{2})(?:[Tt ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?)?\s?([Zz]|[+-]\d{2}(?::?\d{2})?)?$/;

/** UTC ms of civil date and time parts, or null when there is no such date or time of day. */
export function civilTime(
  year: number,
  month: number,
  day: number,
  hour: number,
  minute: number,
  second: number,
  ms = 0,
): number | null {
  if (!(month >= 1 && month <= 12 && day >= 1 && hour <= 23 && minute <= 59 && second <= 59)) return null;
  const time = Date.UTC(year, month - 1, day, hour, minute, second, ms);
  return new Date(time).getUTCDate() === day ? time : null;
}

/** Minutes east of UTC of `Z`, `+02`, `+0200` or `+02:00`, or null when it is out of range. */
export function offsetMinutes(text: string): number | null {
  if (/^[Zz]$/.test(text)) return 0;
  const match = /^([+-])(\d{1,2})(?::?(\d{2}))?$/.exec(text);
  if (match === null) return null;
  const minutes = Number(match[2]) * 60 + Number(match[3] ?? 0);
  if (minutes > 14 * 60 || Number(match[3] ?? 0) > 59) return null;
  return match[1] === '-' ? -minutes : minutes;
}

/**
 * UTC ms of a device's own time stamp: ISO 8601 with `Z` or an offset, or an epoch as told by {@link epochTime}.
 *
 * @source ISO 8601-1:2019, 5.4 (calendar date and time of day with shift from UTC)
 */
export function readTimestamp(value: unknown): Timestamp {
  if (typeof value === 'number') {
    const time = epochTime(value);
    return Number.isFinite(time)
      ? { kind: 'instant', time }
      : { kind: 'fault', code: 'bad-time', message: 'time is not a finite number' };
  }
  if (typeof value !== 'string') {
    return {
      kind: 'fault',
      code: 'wrong-type',
      message: `time is ${describe(value)}; send ISO 8601 text with Z or an offset, or an epoch as a number`,
    };
  }
  const match = iso.exec(value.trim());
  if (match === null) {
    const hint = /^\d+$/.test(value) ? 'send an epoch as a number, without quotes' : 'send e.g. 2026-01-31T17:20:00Z';
    return { kind: 'fault', code: 'bad-time', message: `time ${quoteText(value)} is not ISO 8601: ${hint}` };
  }
  const offset = match[8];
  if (offset === undefined) {
    return {
      kind: 'fault',
      code: 'time-without-offset',
      message: `time ${quoteText(value)} does not say which zone it is in: add Z for UTC, or an offset such as +01:00`,
    };
  }
  const shift = offsetMinutes(offset);
  const ms = Number((match[7] ?? '').slice(0, 3).padEnd(3, '0'));
  const civil =
    match[4] === undefined
      ? null
      : civilTime(+match[1]!, +match[2]!, +match[3]!, +match[4], +match[5]!, Number(match[6] ?? 0), ms);
  if (shift === null || civil === null) {
    return { kind: 'fault', code: 'bad-time', message: `time ${quoteText(value)} names no real date and time of day` };
  }
  return { kind: 'instant', time: civil - shift * 60_000 };
}

/** Text from outside as it may stand in a message: quoted, one line, short. */
export function quoteText(text: string): string {
  const short = text.length > 60 ? `${text.slice(0, 60)}…` : text;
  return JSON.stringify(short);
}

/** What a JSON value is, in words for a message. */
export function describe(value: unknown): string {
  if (value === null) return 'null';
  if (Array.isArray(value)) return 'an array';
  if (typeof value === 'object') return 'an object';
  if (typeof value === 'string') return `the text ${quoteText(value)}`;
  return String(value);
}
