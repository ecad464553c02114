import { parse } from 'csv-parse/sync';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { AirHours } from '../physics/hidden-layer.ts';
import { quantities } from '../physics/quantities.ts';
import { vapourPressure } from '../physics/vapour.ts';

/** A line that could not be used, and why. */
interface SetAside {
  readonly line: number;
  readonly message: string;
}

/** Means of one UTC hour's readings. */
interface AirHour {
  readonly temperature: number;
  readonly humidity: number;
  readonly vapourPressure: number;
}

export interface AirLog {
  /** by UTC milliseconds of the hour */
  readonly hours: ReadonlyMap<number, AirHour>;
  readonly setAside: readonly SetAside[];
}

const COLUMNS = ['time', 'temperature_c', 'humidity_pct'] as const;
const INSTANT = /^\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(:\d{2}(\.\d+)?)?(Z|[+-]\d{2}:?\d{2})$/;

/**
 * Reads logged air, `time,temperature_c,humidity_pct` with a header, and averages it by UTC hours. Vapour pressures are
 * worked out reading by reading. Lines that cannot be used are set aside and told apart; nothing else is changed.
 *
 * @throws RangeError where the text is no CSV, a column is missing, or no line can be used
 */
export function readAirCsv(text: string, fileName: string): AirLog {
  const rows = recordsOf(text, fileName);
  const [header, ...lines] = rows;
  const missing = COLUMNS.filter((column) => !header?.record.includes(column));
  if (header === undefined || missing.length > 0) {
    throw new RangeError(
      `${fileName} has no column ${missing.join(', ')}; its first line must name ${COLUMNS.join(',')}`,
    );
  }
  const [time, temperature, humidity] = COLUMNS.map((column) => header.record.indexOf(column)) as [
    number,
    number,
    number,
  ];
  const sums = new Map<number, { count: number; temperature: number; humidity: number; vapourPressure: number }>();
  const setAside: SetAside[] = [];
  for (const { record, line } of lines) {
    const read = readingOf(record[time] ?? '', record[temperature] ?? '', record[humidity] ?? '');
    if (typeof read === 'string') {
      setAside.push({ line, message: read });
      continue;
    }
    const hour = Math.floor(read.time / HOUR_MS) * HOUR_MS;
    const sum = sums.get(hour) ?? { count: 0, temperature: 0, humidity: 0, vapourPressure: 0 };
    sums.set(hour, {
      count: sum.count + 1,
      temperature: sum.temperature + read.temperature,
      humidity: sum.humidity + read.humidity,
      vapourPressure: sum.vapourPressure + vapourPressure(read.temperature, read.humidity),
    });
  }
  if (sums.size === 0) {
    const first = setAside[0];
    throw new RangeError(
      `${fileName} has no reading that can be used${first === undefined ? '' : `: line ${first.line} ${first.message}`}`,
    );
  }
  const hours = new Map<number, AirHour>();
  for (const [hour, sum] of sums) {
    hours.set(hour, {
      temperature: sum.temperature / sum.count,
      humidity: sum.humidity / sum.count,
      vapourPressure: sum.vapourPressure / sum.count,
    });
  }
  return { hours, setAside };
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

interface Reading {
  readonly time: number;
  readonly temperature: number;
  readonly humidity: number;
}

function readingOf(timeText: string, temperatureText: string, humidityText: string): Reading | string {
  if (!INSTANT.test(timeText)) {
    return `has the time "${timeText}"; it must be ISO 8601 with Z or a UTC offset, as 2026-01-14T22:10:00Z`;
  }
  const time = Date.parse(timeText.replace(' ', 'T'));
  if (!Number.isFinite(time)) return `has the time "${timeText}", which no calendar has`;
  const temperature = numberIn(temperatureText, 'temperature');
  if (typeof temperature === 'string') return temperature;
  const humidity = numberIn(humidityText, 'humidity');
  if (typeof humidity === 'string') return humidity;
  return { time, temperature, humidity: Math.min(100, humidity) };
}

function numberIn(text: string, name: 'temperature' | 'humidity'): number | string {
  const { wire, unit, low, high } = quantities[name];
  const value = text === '' ? Number.NaN : Number(text);
  if (value >= low && value <= high) return value;
  return `has ${wire} "${text}"; it must be a number from ${low} to ${high} ${unit}`;
}

const MOST_HOURS = 20 * 8784;

/**
 * Puts two logs side by side over the hours that both span.
 *
 * @throws RangeError where they do not overlap, or span more than twenty years together
 */
export function alignLogs(room: AirLog, outdoor: AirLog): { start: number; air: AirHours } {
  const edges = (log: AirLog): [number, number] => {
    let first = Number.POSITIVE_INFINITY;
    let last = Number.NEGATIVE_INFINITY;
    for (const hour of log.hours.keys()) {
      first = Math.min(first, hour);
      last = Math.max(last, hour);
    }
    return [first, last];
  };
  const [roomFirst, roomLast] = edges(room);
  const [outdoorFirst, outdoorLast] = edges(outdoor);
  const start = Math.max(roomFirst, outdoorFirst);
  const count = (Math.min(roomLast, outdoorLast) - start) / HOUR_MS + 1;
  if (!(count >= 1)) {
    throw new RangeError('the room and outdoor logs have no hour in common; they must cover the same time');
  }
  if (count > MOST_HOURS) {
    throw new RangeError(`the logs span ${count} hours; they may span 20 years. Is a date wrong?`);
  }
  const column = (log: AirLog, value: (hour: AirHour) => number): Float64Array =>
    Float64Array.from({ length: count }, (_, index) => {
      const hour = log.hours.get(start + index * HOUR_MS);
      return hour === undefined ? Number.NaN : value(hour);
    });
  return {
    start,
    air: {
      roomTemperature: column(room, (hour) => hour.temperature),
      outdoorTemperature: column(outdoor, (hour) => hour.temperature),
      roomVapourPressure: column(room, (hour) => hour.vapourPressure),
      outdoorVapourPressure: column(outdoor, (hour) => hour.vapourPressure),
    },
  };
}
