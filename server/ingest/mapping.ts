import { inOwnUnit, unitsOf, withoutNoise } from '../physics/units.ts';
import type { MappedTime, MappedValue, Mapping, New } from '../store/port.ts';
import { pointerTokens, valueAt } from './json-pointer.ts';
import {
  clockFault,
  type Fault,
  type ParsedReading,
  type PayloadLimits,
  readDecimal,
  summary,
  valueFault,
} from './payload.ts';
import { describe, quoteText, readTimestamp } from './timestamp.ts';
import { isSensorKey } from './topic.ts';
import { fillTemplate, matchTopic, readPattern, type TopicPattern, templateParts } from './topic-pattern.ts';

/** A mapping made ready to read with. */
export interface ReadyMapping {
  readonly mapping: New<Mapping>;
  readonly pattern: TopicPattern;
  readonly values: readonly (MappedValue & { readonly tokens: readonly string[] })[];
  readonly time: (MappedTime & { readonly tokens: readonly string[] }) | null;
}

/** What is wrong with a mapping, at a JSON Pointer into it. */
export interface MappingFault {
  readonly pointer: string;
  readonly detail: string;
}

export type MappingResult =
  | { readonly kind: 'ready'; readonly ready: ReadyMapping }
  | { readonly kind: 'faults'; readonly faults: readonly MappingFault[] };

const MOST_VALUES = 100;

/** Checks all of a mapping and makes it ready. */
export function prepareMapping(mapping: New<Mapping>): MappingResult {
  const faults: MappingFault[] = [];
  const read = readPattern(mapping.topicPattern);
  if (read.kind === 'fault') faults.push({ pointer: '/topicPattern', detail: read.message });
  const parts = read.kind === 'pattern' ? read.pattern.parts : null;
  const template = (pointer: string, text: string): void => {
    const detail = templateFault(text, parts);
    if (detail !== null) faults.push({ pointer, detail });
  };
  const tokens = (pointer: string, text: string): string[] => {
    const found = pointerTokens(text);
    if (found === null) {
      const detail = `${quoteText(text)} is no JSON Pointer: it must be empty or begin with /, with ~ written as ~0 and / as ~1`;
      faults.push({ pointer, detail });
    }
    return found ?? [];
  };
  template('/sensorKey', mapping.sensorKey);
  if (mapping.values.length > MOST_VALUES) {
    faults.push({ pointer: '/values', detail: `must be at most ${MOST_VALUES}` });
  }
  const values = mapping.values.map((value, index) => {
    const at = (field: string): string => `/values/${index}/${field}`;
    if (!unitsOf(value.quantity).includes(value.unit)) {
      faults.push({ pointer: at('unit'), detail: `must be one of ${unitsOf(value.quantity).join(', ')}` });
    }
    if (value.scale === 0)
      faults.push({ pointer: at('scale'), detail: 'must not be 0: every value would be the same' });
    if (value.sensorKey !== null) template(at('sensorKey'), value.sensorKey);
    return { ...value, tokens: tokens(at('pointer'), value.pointer) };
  });
  const time =
    mapping.time === null ? null : { ...mapping.time, tokens: tokens('/time/pointer', mapping.time.pointer) };
  if (mapping.time !== null && values.length === 0) {
    faults.push({ pointer: '/time', detail: 'needs values: a message that names its quantities names its time too' });
  }
  if (faults.length > 0 || read.kind === 'fault') return { kind: 'faults', faults };
  return { kind: 'ready', ready: { mapping, pattern: read.pattern, values, time } };
}

function templateFault(text: string, parts: readonly string[] | null): string | null {
  const names = templateParts(text);
  if (names === null) return 'has a brace that stands alone';
  const unknown = parts === null ? undefined : names.find((name) => !parts.includes(name));
  if (unknown !== undefined) return `the part {${unknown}} is not in the topic pattern`;
  if (!isSensorKey(text.replaceAll(/\{[^{}]*\}/g, 'x'))) return 'must be text without / + # and control characters';
  return null;
}

export interface MappedReading extends ParsedReading {
  readonly sensorKey: string;
}

export type MappedPayload =
  | { readonly kind: 'readings'; readonly readings: readonly MappedReading[]; readonly fault: Fault | null }
  | { readonly kind: 'rejected'; readonly fault: Fault }
  /** none of the pointers finds anything: the message is about something else */
  | { readonly kind: 'nothing' };

export const topicParts = (ready: ReadyMapping, topic: string): ReadonlyMap<string, string> | null =>
  matchTopic(ready.pattern, topic);

/**
 * The readings that a mapping finds in a JSON value. A number may come as text; null, and a pointer that finds nothing
 * while others do, is a quantity without a value. Never throws.
 *
 * @param parts the named parts of the topic
 * @param receivedAt UTC ms; the time where the message carries none
 */
export function readMapped(
  ready: ReadyMapping,
  parts: ReadonlyMap<string, string>,
  json: unknown,
  receivedAt: number,
  limits: PayloadLimits,
): MappedPayload {
  const found = ready.values
    .map((value) => ({ value, raw: valueAt(json, value.tokens) }))
    .filter(({ raw }) => raw !== undefined);
  if (found.length === 0) return { kind: 'nothing' };
  const moment = readMoment(ready.time, json, receivedAt);
  const late = moment.kind === 'fault' ? moment.fault : clockFault(moment.time, receivedAt, moment.stamped, limits);
  if (late !== null || moment.kind === 'fault') {
    return { kind: 'rejected', fault: late ?? { code: 'bad-time', message: 'the time cannot be read' } };
  }
  const readings: MappedReading[] = [];
  const faults: Fault[] = [];
  for (const { value, raw } of found) {
    if (raw === null) continue;
    const number = typeof raw === 'number' ? raw : typeof raw === 'string' ? readDecimal(raw) : null;
    const name = value.pointer === '' ? 'the message' : value.pointer;
    if (number === null) {
      faults.push({ code: 'wrong-type', message: `${name} is ${describe(raw)}; a number is expected there` });
      continue;
    }
    const { quantity, unit, scale, offset } = value;
    const inUnit = scale === 1 && offset === 0 ? number : withoutNoise(number * scale + offset);
    const own = inOwnUnit(quantity, inUnit, unit);
    const sensorKey = fillTemplate(value.sensorKey ?? ready.mapping.sensorKey, parts);
    const fault = keyFault(sensorKey) ?? valueFault(name, quantity, own);
    if (fault === null) readings.push({ sensorKey, quantity, time: moment.time, value: own, stamped: moment.stamped });
    else faults.push(fault);
  }
  const fault = summary(faults);
  if (readings.length > 0) return { kind: 'readings', readings, fault };
  const empty: Fault = { code: 'no-value', message: 'every value is null: the device had none. Check the sensor' };
  return { kind: 'rejected', fault: fault ?? empty };
}

/** Why a key made from a topic cannot be one, or null. */
export function keyFault(key: string): Fault | null {
  if (isSensorKey(key)) return null;
  const message = `the sensor's key would be ${quoteText(key)}; it must be at most 128 characters without / + # and control characters, and not begin with a space. Change the mapping's sensor`;
  return { code: 'bad-name', message };
}

type Moment =
  | { readonly kind: 'instant'; readonly time: number; readonly stamped: ParsedReading['stamped'] }
  | { readonly kind: 'fault'; readonly fault: Fault };

function readMoment(time: ReadyMapping['time'], json: unknown, receivedAt: number): Moment {
  const raw = time === null ? null : (valueAt(json, time.tokens) ?? null);
  if (time === null || raw === null) return { kind: 'instant', time: receivedAt, stamped: 'on-receipt' };
  if (time.form === 'iso-8601') {
    if (typeof raw !== 'string') {
      return timeFault(`${time.pointer} is ${describe(raw)}; text in ISO 8601 is expected there`);
    }
    const stamp = readTimestamp(raw);
    if (stamp.kind === 'instant') return { ...stamp, stamped: 'by-device' };
    return { kind: 'fault', fault: { code: stamp.code, message: `at ${time.pointer}: ${stamp.message}` } };
  }
  const epoch = typeof raw === 'number' ? raw : typeof raw === 'string' ? readDecimal(raw) : null;
  if (epoch === null || !Number.isFinite(epoch)) {
    return timeFault(`${time.pointer} is ${describe(raw)}; a number of seconds or ms since 1970 is expected there`);
  }
  return { kind: 'instant', time: Math.round(time.form === 'epoch-s' ? epoch * 1000 : epoch), stamped: 'by-device' };
}

const timeFault = (message: string): Moment => ({ kind: 'fault', fault: { code: 'bad-time', message } });
