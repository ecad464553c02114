import { isUtf8 } from 'node:buffer';
import { type Quantity, quantities, quantityNames } from '../physics/quantities.ts';
import { describe, EARLIEST_TIME, quoteText, readTimestamp } from './timestamp.ts';

export interface PayloadLimits {
  /** larger payloads are not parsed */
  readonly maxBytes: number;
  /** how far a reading may lie ahead of its receipt */
  readonly maxAheadMs: number;
}

/**
 * 1 MiB is some ten thousand buffered readings. Ten minutes ahead covers a device clock that drifts for months between
 * corrections, and is short enough to catch local time sent as UTC.
 */
export const payloadLimits: PayloadLimits = Object.freeze({ maxBytes: 1 << 20, maxAheadMs: 10 * 60_000 });

export type PayloadFault =
  | 'too-large'
  | 'empty'
  | 'not-json'
  | 'wrong-type'
  | 'not-finite'
  | 'out-of-range'
  | 'no-value'
  | 'no-known-quantity'
  | 'bad-time'
  | 'time-without-offset'
  | 'batch-without-time'
  | 'clock-too-early'
  | 'clock-ahead'
  | SenmlFault;

/** What can be wrong with a SenML pack beside the rest. */
export type SenmlFault =
  | 'bad-name'
  | 'no-sensor-name'
  | 'bad-base'
  | 'not-one-value'
  | 'newer-version'
  | 'unknown-field';

export interface Fault {
  readonly code: PayloadFault;
  /** what is wrong and what to do about it */
  readonly message: string;
}

export interface ParsedReading {
  readonly quantity: Quantity;
  readonly time: number;
  readonly value: number;
  /** whether the device sent this time stamp or the time of receipt stands in for it */
  readonly stamped: 'by-device' | 'on-receipt';
}

/** The sensor that a reading is of. */
export interface OfSensor {
  readonly dwellingId: number;
  readonly sensorKey: string;
}

export interface UnderstoodReading extends OfSensor, ParsedReading {}

/** A payload can carry good readings and faults at once: the readings count, and the message is set aside as well. */
export type Payload =
  | { readonly kind: 'readings'; readonly readings: readonly UnderstoodReading[]; readonly fault: Fault | null }
  | { readonly kind: 'rejected'; readonly fault: Fault };

const wireNames = quantityNames.map((name) => quantities[name].wire).join(', ');
const faultsTold = 3;

/**
 * The readings of a sensor in one message: a flat JSON object of quantities named with their units, with an optional
 * `time`, or an array of such objects. Null is a quantity the device has no value for. Unknown keys are left alone. Never
 * throws.
 *
 * @param receivedAt UTC ms; the time of readings whose device sends none
 */
export function readFlat(value: unknown, of: OfSensor, receivedAt: number, limits: PayloadLimits): Payload {
  const elements: readonly unknown[] = Array.isArray(value) ? value : [value];
  if (elements.length === 0) return rejected('empty', 'the array holds no readings');

  const readings: UnderstoodReading[] = [];
  const faults: Fault[] = [];
  for (let i = 0; i < elements.length; i++) {
    const before = faults.length;
    readElement(elements[i], of, receivedAt, limits, elements.length, readings, faults);
    if (elements.length > 1) {
      for (let j = before; j < faults.length; j++) {
        faults[j] = { code: faults[j]!.code, message: `element ${i + 1}: ${faults[j]!.message}` };
      }
    }
  }
  const fault = summary(faults);
  if (readings.length > 0) return { kind: 'readings', readings, fault };
  return fault === null ? rejected('no-value', 'the message holds no reading') : { kind: 'rejected', fault };
}

const rejected = (code: PayloadFault, message: string): Payload => ({ kind: 'rejected', fault: { code, message } });

export type Json =
  | { readonly kind: 'json'; readonly value: unknown }
  | { readonly kind: 'fault'; readonly fault: Fault };

/** The JSON value that a message is. A number may stand alone, also as people write it: `+21.5`. */
export function readJson(bytes: Uint8Array, limits: PayloadLimits = payloadLimits): Json {
  if (bytes.byteLength > limits.maxBytes) {
    const size = (bytes.byteLength / (1 << 20)).toFixed(1);
    const most = (limits.maxBytes / (1 << 20)).toFixed(1);
    const message = `the message has ${size} MiB; send buffered readings in batches below ${most} MiB`;
    return { kind: 'fault', fault: { code: 'too-large', message } };
  }
  if (bytes.byteLength === 0) return { kind: 'fault', fault: { code: 'empty', message: 'the message is empty' } };
  return parseJson(bytes);
}

function parseJson(bytes: Uint8Array): Json {
  if (!isUtf8(bytes)) {
    return { kind: 'fault', fault: { code: 'not-json', message: 'the message is not UTF-8 text, so it is not JSON' } };
  }
  const buffer = Buffer.isBuffer(bytes) ? bytes : Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let text = buffer.toString('utf8');
  if (text.charCodeAt(0) === 0xfeff) text = text.slice(1);
  try {
    return { kind: 'json', value: JSON.parse(text) };
  } catch {
    const number = readDecimal(text);
    if (number !== null) return { kind: 'json', value: number };
    const bare = /(?<![\w"])-?(?:NaN|nan|Infinity|inf)\b/.test(text);
    const hint = bare
      ? 'NaN and infinity are not JSON: leave the quantity out, or send null'
      : 'send e.g. {"temperature_c": 18.4, "humidity_pct": 61}';
    return {
      kind: 'fault',
      fault: { code: 'not-json', message: `the message ${quoteText(text)} is not JSON: ${hint}` },
    };
  }
}

/** The number that a text is, in decimal digits with a point, or null. */
export function readDecimal(text: string): number | null {
  const trimmed = text.length <= 40 ? text.trim() : '';
  return /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/.test(trimmed) ? Number(trimmed) : null;
}

function readElement(
  element: unknown,
  { dwellingId, sensorKey }: OfSensor,
  receivedAt: number,
  limits: PayloadLimits,
  elements: number,
  readings: UnderstoodReading[],
  faults: Fault[],
): void {
  if (typeof element !== 'object' || element === null || Array.isArray(element)) {
    const message = `expected an object of quantities such as {"temperature_c": 18.4}, not ${describe(element)}`;
    faults.push({ code: 'wrong-type', message });
    return;
  }
  const values = element as Readonly<Record<string, unknown>>;
  const ownTime = Object.hasOwn(values, 'time') ? values.time : null;
  let time = receivedAt;
  if (ownTime !== null) {
    const stamp = readTimestamp(ownTime);
    if (stamp.kind === 'fault') {
      faults.push({ code: stamp.code, message: stamp.message });
      return;
    }
    time = stamp.time;
  } else if (elements > 1) {
    const message = 'each element of an array needs its own time, or they would all become the same instant';
    faults.push({ code: 'batch-without-time', message });
    return;
  }
  const clock = clockFault(time, receivedAt, ownTime === null ? 'on-receipt' : 'by-device', limits);
  if (clock !== null) {
    faults.push(clock);
    return;
  }

  const stamped = ownTime === null ? 'on-receipt' : 'by-device';
  let known = 0;
  let withoutValue = 0;
  for (const quantity of quantityNames) {
    const { wire } = quantities[quantity];
    if (!Object.hasOwn(values, wire)) continue;
    known++;
    const value = values[wire];
    if (value === null) {
      withoutValue++;
    } else if (typeof value !== 'number') {
      faults.push({
        code: 'wrong-type',
        message: `${wire} is ${describe(value)}; it must be a JSON number, without quotes`,
      });
    } else {
      const fault = valueFault(wire, quantity, value);
      if (fault === null) readings.push({ dwellingId, sensorKey, quantity, time, value, stamped });
      else faults.push(fault);
    }
  }
  if (known === 0) {
    const seen = Object.keys(values).slice(0, 10).map(quoteText).join(', ');
    const message = `none of the names is known (${seen === '' ? 'there are none' : seen}); expected at least one of ${wireNames}`;
    faults.push({ code: 'no-known-quantity', message });
  } else if (withoutValue === known) {
    faults.push({ code: 'no-value', message: 'every quantity is null: the device had no value. Check the sensor' });
  }
}

/** Why a value in the quantity's own unit cannot be a measurement, or null. `name` is what the message calls it. */
export function valueFault(name: string, quantity: Quantity, value: number): Fault | null {
  const { unit, low, high } = quantities[quantity];
  if (value >= low && value <= high) return null;
  if (!Number.isFinite(value)) return { code: 'not-finite', message: `${name} is too large to be a number` };
  const message = `${name} is ${value} ${unit}; it must lie between ${low} and ${high} ${unit}. Check the sensor and its wiring`;
  return { code: 'out-of-range', message };
}

/** Why an instant cannot be when something was measured, or null. */
export function clockFault(
  time: number,
  receivedAt: number,
  stamped: ParsedReading['stamped'],
  limits: PayloadLimits,
): Fault | null {
  if (!(time >= EARLIEST_TIME)) {
    const whose =
      stamped === 'by-device'
        ? `the device's clock says ${utcText(time)}, so it was never set: let it fetch the time (NTP), or leave time out`
        : `this computer's clock says ${utcText(time)}, so a reading without its own time cannot be dated: set the clock`;
    return { code: 'clock-too-early', message: whose };
  }
  if (!(time <= receivedAt + limits.maxAheadMs)) {
    const message = `the device's clock says ${utcText(time)}, this computer's ${utcText(receivedAt)}: set whichever is wrong. A whole number of hours between them means local time was sent as UTC`;
    return { code: 'clock-ahead', message };
  }
  return null;
}

const utcText = (time: number): string =>
  Math.abs(time) <= 8.64e15 ? new Date(time).toISOString() : `${time} ms after 1970`;

/** Several faults as one: the code of the first, and what the first few say. */
export function summary(faults: readonly Fault[]): Fault | null {
  const first = faults[0];
  if (first === undefined) return null;
  const told = faults.slice(0, faultsTold).map((fault) => fault.message);
  const more = faults.length - told.length;
  return { code: first.code, message: told.join('; ') + (more > 0 ? `; and ${more} more` : '') };
}
