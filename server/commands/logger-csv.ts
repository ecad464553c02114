import { parse } from 'csv-parse/sync';
import { DateTime } from 'luxon';
import { quantities } from '../physics/quantities.ts';

/** A line that could not be used, and why. */
export interface LineSetAside {
  readonly line: number;
  readonly message: string;
}

/** One column of a logger's file: readings in time order. */
export interface LoggedColumn {
  /** UTC milliseconds */
  readonly times: Float64Array;
  readonly values: Float64Array;
}

export interface LoggerFile {
  readonly temperature: LoggedColumn;
  readonly humidity: LoggedColumn;
  readonly timberMoisture: LoggedColumn;
  readonly lines: number;
  /** lines whose time had no offset and was read in the zone */
  readonly withoutOffset: number;
  readonly setAside: readonly LineSetAside[];
}

type Logged = 'temperature' | 'humidity' | 'timberMoisture';

const ISO_TIME = /^\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2}([.,]\d+)?)?)?(Z|[+-]\d{2}(:?\d{2})?)?$/i;
const HAS_OFFSET = /(Z|[+-]\d{2}(:?\d{2})?)$/i;

/**
 * Reads a logger's file: `time,temperature_c,humidity_pct`, columns in any order, others ignored. Humidity may be
 * missing, as of a surface; `timber_moisture_pct` may stand in its place. Times are ISO 8601; one without a UTC offset is
 * taken in `zone`. A line that cannot be used is set aside and told; the same time twice counts once, and a different
 * value for a time already seen is set aside.
 *
 * @throws RangeError where the text is no CSV, a column is missing, or no line can be used
 */
export function readLoggerCsv(text: string, fileName: string, zone: string): LoggerFile {
  const [header, ...rows] = recordsOf(text, fileName);
  const names = header?.record.map((name) => name.toLowerCase()) ?? [];
  const timeAt = names.indexOf('time');
  const at: Record<Logged, number> = {
    temperature: names.indexOf(quantities.temperature.wire),
    humidity: names.indexOf(quantities.humidity.wire),
    timberMoisture: names.indexOf(quantities.timberMoisture.wire),
  };
  if (timeAt < 0 || (at.temperature < 0 && at.timberMoisture < 0)) {
    throw new RangeError(
      `${fileName} has the columns "${header?.record.join(',') ?? ''}"; its first line must name time,temperature_c and, but for a surface, humidity_pct`,
    );
  }
  const seen: Record<Logged, Map<number, number>> = {
    temperature: new Map(),
    humidity: new Map(),
    timberMoisture: new Map(),
  };
  const setAside: LineSetAside[] = [];
  let withoutOffset = 0;
  for (const { record, line } of rows) {
    const timeText = record[timeAt] ?? '';
    const time = timeOf(timeText, zone);
    if (time === null) {
      setAside.push({ line, message: `has the time "${timeText}"; it must be ISO 8601, as 2026-01-14T22:10:00Z` });
      continue;
    }
    if (!HAS_OFFSET.test(timeText.slice(10))) withoutOffset += 1;
    for (const quantity of Object.keys(at) as Logged[]) {
      const problem = at[quantity] < 0 ? null : take(quantity, time, record[at[quantity]] ?? '', seen[quantity]);
      if (problem !== null) setAside.push({ line, message: problem });
    }
  }
  if (seen.temperature.size === 0 && seen.timberMoisture.size === 0) {
    const first = setAside[0];
    throw new RangeError(
      `${fileName} has no reading that can be used${first === undefined ? '' : `: line ${first.line} ${first.message}`}`,
    );
  }
  return {
    temperature: inOrder(seen.temperature),
    humidity: inOrder(seen.humidity),
    timberMoisture: inOrder(seen.timberMoisture),
    lines: rows.length,
    withoutOffset,
    setAside,
  };
}

function recordsOf(text: string, fileName: string): { record: string[]; line: number }[] {
  try {
    const parsed = parse(text, {
      bom: true,
      trim: true,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
    }) as unknown as { record: string[]; info: { lines: number } }[];
    return parsed.map(({ record, info }) => ({ record, line: info.lines }));
  } catch (error) {
    throw new RangeError(`${fileName} cannot be read as CSV: ${(error as Error).message}`, { cause: error });
  }
}

/** UTC milliseconds, or null for what is no time. */
function timeOf(text: string, zone: string): number | null {
  if (!ISO_TIME.test(text)) return null;
  const iso = text.replace(' ', 'T').replace(',', '.');
  const time = HAS_OFFSET.test(iso.slice(10)) ? Date.parse(withColon(iso)) : DateTime.fromISO(iso, { zone }).toMillis();
  return Number.isFinite(time) ? time : null;
}

/** `+0200` and `+02` as `+02:00`, which every engine reads. */
const withColon = (iso: string): string =>
  iso.replace(/([+-]\d{2})(\d{2})?$/, (_, hours, minutes) => `${hours}:${minutes ?? '00'}`);

/** Keeps a value, or says why not. An empty cell is no reading and no fault. */
function take(quantity: Logged, time: number, text: string, seen: Map<number, number>): string | null {
  if (text === '') return null;
  const { wire, unit, low, high } = quantities[quantity];
  const value = Number(text);
  if (!(value >= low && value <= high)) {
    return `has ${wire} "${text}"; it must be a number from ${low} to ${high} ${unit}`;
  }
  const earlier = seen.get(time);
  if (earlier !== undefined && earlier !== value) {
    return `has ${wire} ${value} for a time that already has ${earlier}; the first is kept`;
  }
  seen.set(time, value);
  return null;
}

function inOrder(seen: ReadonlyMap<number, number>): LoggedColumn {
  const times = Float64Array.from(seen.keys()).sort();
  return { times, values: times.map((time) => seen.get(time)!) };
}
