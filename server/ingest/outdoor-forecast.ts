import type { OutdoorFeed } from '../analysis/forecast/tonight-forecast.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { saturationPressureOverWater } from '../physics/saturation.ts';
import { vapourPressure } from '../physics/vapour.ts';
import { type PayloadLimits, payloadLimits, readJson } from './payload.ts';
import type { ReceiptFault } from './receiver.ts';
import { describe, readTimestamp } from './timestamp.ts';

/** The sensor name that outdoor forecasts come under: `coomb/<dwelling>/outdoor-forecast`. */
export const FORECAST_KEY = 'outdoor-forecast';

const MOST_HOURS = 16 * 24;
const EXAMPLE =
  '{"issued": "2026-01-14T12:00:00Z", "hours": [{"time": "2026-01-14T13:00:00Z", "temperature_c": 3.1, "humidity_pct": 88}]}';

export type ReadForecast =
  | { readonly kind: 'forecast'; readonly forecast: OutdoorFeed; readonly hours: number }
  | { readonly kind: 'rejected'; readonly fault: ReceiptFault };

/**
 * An outdoor forecast as a script sends it: when it was issued and, for each hour it speaks of, the temperature with the
 * relative humidity or the dew point, both over liquid water as weather services give them. Hours in any order, gaps
 * allowed. All of it is taken or nothing. Never throws.
 *
 * @param receivedAt UTC ms
 */
export function readOutdoorForecast(
  payload: Uint8Array,
  receivedAt: number,
  limits: PayloadLimits = payloadLimits,
): ReadForecast {
  const json = readJson(payload, limits);
  if (json.kind === 'fault') return { kind: 'rejected', fault: json.fault };
  try {
    const { issued, hours } = fieldsOf(json.value, 'the message');
    const issuedAt = instantOf(issued, '/issued');
    if (issuedAt > receivedAt + limits.maxAheadMs) {
      throw new Unusable('/issued lies ahead of now: check the clock, or the offset of the time');
    }
    if (!Array.isArray(hours) || hours.length === 0 || hours.length > MOST_HOURS) {
      throw new Unusable(`/hours is ${describe(hours)}; it must be an array of 1 to ${MOST_HOURS} hours`);
    }
    const told = hours.map((hour, k) => hourOf(hour, `/hours/${k}`));
    return { kind: 'forecast', forecast: columnsOf(told, issuedAt, receivedAt), hours: told.length };
  } catch (error) {
    if (!(error instanceof Unusable)) throw error;
    return { kind: 'rejected', fault: { code: 'bad-forecast', message: `${error.message}. Send e.g. ${EXAMPLE}` } };
  }
}

/** Something in the message cannot be used; the message says where, and what it must be. */
class Unusable extends Error {}

interface Told {
  readonly time: number;
  readonly temperature: number;
  readonly vapourPressure: number;
}

function hourOf(value: unknown, at: string): Told {
  const fields = fieldsOf(value, at);
  const time = instantOf(fields.time, `${at}/time`);
  if (time % HOUR_MS !== 0)
    throw new Unusable(`${at}/time is not a whole hour; it must name the beginning of a UTC hour`);
  const temperature = numberOf(fields.temperature_c, `${at}/temperature_c`, -60, 60, '°C');
  const { humidity_pct: humidity, dew_point_c: dewPoint } = fields;
  if ((humidity === undefined) === (dewPoint === undefined)) {
    throw new Unusable(`${at} must have either humidity_pct or dew_point_c`);
  }
  if (humidity !== undefined) {
    const percent = Math.min(100, numberOf(humidity, `${at}/humidity_pct`, 0, 105, '%'));
    return { time, temperature, vapourPressure: vapourPressure(temperature, percent) };
  }
  const dew = numberOf(dewPoint, `${at}/dew_point_c`, -60, 60, '°C');
  if (dew > temperature + 0.5)
    throw new Unusable(`${at}/dew_point_c is ${dew} °C, above the temperature of ${temperature} °C`);
  return { time, temperature, vapourPressure: saturationPressureOverWater(Math.min(dew, temperature)) };
}

function columnsOf(told: readonly Told[], issued: number, received: number): OutdoorFeed {
  const times = told.map(({ time }) => time);
  const from = Math.min(...times);
  const length = (Math.max(...times) - from) / HOUR_MS + 1;
  if (length > MOST_HOURS) throw new Unusable(`/hours reaches over ${length} hours; it may reach over ${MOST_HOURS}`);
  const temperature = new Float64Array(length).fill(Number.NaN);
  const pressure = new Float64Array(length).fill(Number.NaN);
  for (const [k, hour] of told.entries()) {
    const i = (hour.time - from) / HOUR_MS;
    if (!Number.isNaN(temperature[i]!)) throw new Unusable(`/hours/${k}/time is there twice`);
    temperature[i] = hour.temperature;
    pressure[i] = hour.vapourPressure;
  }
  return { issued, received, from, temperature, vapourPressure: pressure };
}

function fieldsOf(value: unknown, at: string): Record<string, unknown> {
  if (typeof value === 'object' && value !== null && !Array.isArray(value)) return value as Record<string, unknown>;
  throw new Unusable(`${at} is ${describe(value)}; it must be an object`);
}

function instantOf(value: unknown, at: string): number {
  const read = value === undefined ? null : readTimestamp(value);
  if (read?.kind === 'instant') return read.time;
  throw new Unusable(`${at} ${read === null ? 'is missing' : `cannot be used: ${read.message}`}`);
}

function numberOf(value: unknown, at: string, low: number, high: number, unit: string): number {
  if (typeof value === 'number' && value >= low && value <= high) return value;
  const found = value === undefined ? 'is missing' : `is ${describe(value)}`;
  throw new Unusable(`${at} ${found}; it must be a number from ${low} to ${high} ${unit}`);
}
