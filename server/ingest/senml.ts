import { type Quantity, quantities, quantityNames } from '../physics/quantities.ts';
import { inOwnUnit, type Unit } from '../physics/units.ts';
import { quantityOfName, withoutQuantity } from './channel-words.ts';
import {
  clockFault,
  type Fault,
  type ParsedReading,
  type PayloadFault,
  type PayloadLimits,
  payloadLimits,
  summary,
  valueFault,
} from './payload.ts';
import { describe, quoteText } from './timestamp.ts';

/** A record of a pack with its base fields resolved into it. */
export interface ResolvedRecord {
  readonly name: string;
  readonly unit: string | null;
  /** a number is a measurement; the rest is told apart and left alone */
  readonly value: number | string | boolean | null;
  readonly sum: number | null;
  /** s: since 1970 from 2^28 on, below that before (negative) or after the message was received */
  readonly time: number;
}

export type ResolvedPack =
  | { readonly kind: 'records'; readonly records: readonly ResolvedRecord[]; readonly faults: readonly Fault[] }
  | { readonly kind: 'rejected'; readonly fault: Fault };

export interface SenmlReading extends ParsedReading {
  readonly sensorKey: string;
}

export type SenmlPayload =
  | { readonly kind: 'readings'; readonly readings: readonly SenmlReading[]; readonly fault: Fault | null }
  | { readonly kind: 'rejected'; readonly fault: Fault };

/** From here on a time is absolute. @source RFC 8428, 4.5.3 */
const ABSOLUTE_TIME_S = 2 ** 28;

/** Versions up to this one are known. @source RFC 8428, 4.4 */
const NEWEST_VERSION = 10;

/** 10 with the feature "secondary units", bit 4. @source RFC 9100, 2 and 3 */
const VERSION_SECONDARY_UNITS = 26;

const valueLabels = ['v', 'vs', 'vb', 'vd'] as const;
const ownLabels: readonly string[] = ['bn', 'bt', 'bu', 'bv', 'bs', 'bver', 'n', 'u', 's', 't', 'ut', ...valueLabels];
const LONGEST_SENSOR_KEY = 100;

type Fields = Readonly<Record<string, unknown>>;

const isFields = (value: unknown): value is Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/**
 * Whether a JSON value has the form of a SenML pack: an array in which an object has a value, a name or a base under
 * SenML's labels, and none has a name of our own.
 */
export function isSenml(value: unknown): value is readonly unknown[] {
  if (!Array.isArray(value)) return false;
  let labelled = false;
  for (const element of value) {
    if (!isFields(element)) continue;
    if (Object.hasOwn(element, 'time') || quantityNames.some((name) => Object.hasOwn(element, quantities[name].wire))) {
      return false;
    }
    labelled ||= ['n', 'bn', 'bv', ...valueLabels].some((label) => Object.hasOwn(element, label));
  }
  return labelled;
}

interface Bases {
  name: string;
  time: number;
  unit: string | null;
  value: number;
  sum: number;
}

const baseTypes = { bn: 'string', bt: 'number', bu: 'string', bv: 'number', bs: 'number', bver: 'number' } as const;
const fieldTypes = { n: 'string', u: 'string', t: 'number', ut: 'number', s: 'number' } as const;
const valueTypes = { v: 'number', vs: 'string', vb: 'boolean', vd: 'string' } as const;

/**
 * Resolves the base fields of a pack into its records. A record of base fields alone gives none; a record that is
 * wrong in itself is left out and told of; what would make later records mean something else rejects the whole pack.
 *
 * @source RFC 8428, 4.1 to 4.6
 */
export function resolveSenml(pack: readonly unknown[]): ResolvedPack {
  const bases: Bases = { name: '', time: 0, unit: null, value: 0, sum: 0 };
  let versionSaid: number | null = null;
  const records: ResolvedRecord[] = [];
  const faults: Fault[] = [];
  for (const [index, record] of pack.entries()) {
    const rejected = (code: PayloadFault, message: string): ResolvedPack => ({
      kind: 'rejected',
      fault: { code, message: `record ${index + 1}: ${message}` },
    });
    if (!isFields(record)) return rejected('wrong-type', `expected a SenML record, not ${describe(record)}`);
    for (const label of Object.keys(record)) {
      if (label.endsWith('_') && !ownLabels.includes(label)) {
        const message = `the field ${quoteText(label)} must be understood, as its _ says, and is not known here: nothing in the pack was used. Send the pack without it`;
        return rejected('unknown-field', message);
      }
    }
    for (const [label, type] of Object.entries(baseTypes)) {
      if (!Object.hasOwn(record, label) || isOf(record[label], type)) continue;
      return rejected('bad-base', `${label} is ${describe(record[label])}; it must be a ${type}`);
    }
    if (record.bver !== undefined) {
      const version = record.bver as number;
      if (!Number.isInteger(version) || version < 1) {
        return rejected('bad-base', `bver is ${version}; it must be a positive whole number`);
      }
      if (versionSaid !== null && version !== versionSaid) {
        return rejected('bad-base', `bver is ${version} after ${versionSaid}; all records of a pack have one version`);
      }
      if (version > NEWEST_VERSION && version !== VERSION_SECONDARY_UNITS) {
        const message = `the pack is of SenML version ${version}; versions up to ${NEWEST_VERSION}, and ${VERSION_SECONDARY_UNITS}, are known here. Nothing in the pack was used`;
        return rejected('newer-version', message);
      }
      versionSaid = version;
    }
    takeBases(bases, record);
    const result = resolveRecord(bases, record);
    if (result.kind === 'fault') {
      faults.push({ code: result.fault.code, message: `record ${index + 1}: ${result.fault.message}` });
    } else if (result.record !== null) {
      records.push(result.record);
    }
  }
  return { kind: 'records', records, faults };
}

const isOf = (value: unknown, type: string): boolean =>
  typeof value === type && (type !== 'number' || Number.isFinite(value));

function takeBases(bases: Bases, record: Fields): void {
  if (record.bn !== undefined) bases.name = record.bn as string;
  if (record.bt !== undefined) bases.time = record.bt as number;
  if (record.bu !== undefined) bases.unit = record.bu as string;
  if (record.bv !== undefined) bases.value = record.bv as number;
  if (record.bs !== undefined) bases.sum = record.bs as number;
}

type RecordResult =
  | { readonly kind: 'record'; readonly record: ResolvedRecord | null }
  | { readonly kind: 'fault'; readonly fault: Fault };

const faulty = (code: PayloadFault, message: string): RecordResult => ({ kind: 'fault', fault: { code, message } });

function resolveRecord(bases: Bases, record: Fields): RecordResult {
  for (const [label, type] of Object.entries({ ...fieldTypes, ...valueTypes })) {
    if (!Object.hasOwn(record, label) || isOf(record[label], type)) continue;
    return faulty('wrong-type', `${label} is ${describe(record[label])}; it must be a ${type}`);
  }
  const values = valueLabels.filter((label) => record[label] !== undefined);
  if (values.length > 1) {
    return faulty('not-one-value', `it has ${values.join(' and ')}; a record has one value`);
  }
  if (values.length === 0 && record.s === undefined) {
    const bare = Object.keys(record).every((label) => Object.hasOwn(baseTypes, label));
    if (bare) return { kind: 'record', record: null };
    return faulty('not-one-value', 'it has no value; one of v, vs, vb and vd must be there');
  }
  const name = bases.name + ((record.n as string | undefined) ?? '');
  if (!/^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/.test(name)) {
    const message = `its name is ${quoteText(name)}; bn and n together must be letters, digits and - : . / _ and begin with a letter or digit`;
    return faulty('bad-name', message);
  }
  const label = values[0];
  const raw = label === undefined ? null : (record[label] as number | string | boolean);
  return {
    kind: 'record',
    record: {
      name,
      unit: (record.u as string | undefined) ?? bases.unit,
      value: typeof raw === 'number' ? bases.value + raw : raw,
      sum: record.s === undefined ? null : bases.sum + (record.s as number),
      time: bases.time + ((record.t as number | undefined) ?? 0),
    },
  };
}

/** Units that mean one quantity whatever the record is called. @source RFC 8428, 12.1 */
const unitQuantities: Readonly<Record<string, readonly [Quantity, Unit]>> = {
  Cel: ['temperature', 'C'],
  K: ['temperature', 'K'],
  '%RH': ['humidity', '%'],
};

/** Units that mean a quantity only when the name says which. @source RFC 8428, 12.1; RFC 8798, 3 (mV, /100, ppm) */
const namedUnits: Readonly<Record<string, Unit>> = {
  '/': 'ratio',
  '%': '%',
  '/100': '%',
  ppm: 'ppm',
  V: 'V',
  mV: 'mV',
};

const quantitiesOfUnit: Readonly<Record<string, readonly Quantity[]>> = {
  ratio: ['humidity', 'timberMoisture', 'co2'],
  '%': ['humidity', 'timberMoisture', 'co2'],
  ppm: ['co2'],
  V: ['battery'],
  mV: ['battery'],
};

/**
 * A name in its two parts: which device, and what of it. `urn:dev:ow:10e2073a01080063:temp` and `2001:db8::2/temp` both
 * end in what is measured; a name in one piece is a channel's.
 *
 * @source RFC 9039, 3 (device URNs: urn:dev:<kind>:<identifier>, more after it)
 */
function splitName(name: string): { device: string; channel: string } {
  const urn = /^(urn:dev:[A-Za-z0-9]+:[^:/_]+)(?:[:/_](.*))?$/.exec(name);
  if (urn !== null) return { device: urn[1]!, channel: urn[2] ?? '' };
  const slash = name.lastIndexOf('/');
  if (slash >= 0) return { device: name.slice(0, slash), channel: name.slice(slash + 1) };
  return name.includes(':') ? { device: name, channel: '' } : { device: '', channel: name };
}

/** What a record measures and in which unit, or null when it is nothing that is watched here. */
function measuredBy(unit: string | null, channel: string): readonly [Quantity, Unit] | null {
  if (unit === null) {
    const wire = quantityNames.find((name) => quantities[name].wire === channel);
    if (wire === undefined) return null;
    return [wire, ({ temperature: 'C', humidity: '%', timberMoisture: '%', co2: 'ppm', battery: 'V' } as const)[wire]];
  }
  const whole = Object.hasOwn(unitQuantities, unit) ? unitQuantities[unit] : undefined;
  if (whole !== undefined) return whole;
  const named = Object.hasOwn(namedUnits, unit) ? namedUnits[unit] : undefined;
  const quantity = quantityOfName(channel);
  if (named === undefined || quantity === null || !quantitiesOfUnit[named]!.includes(quantity)) return null;
  return [quantity, named];
}

/**
 * The readings in a SenML pack. The unit says the quantity where it can (Cel, K, %RH), the name helps where it must
 * (`/`, %, ppm, V). Records of anything else are left alone.
 *
 * The sensor of a record is `topicSensor`, or the device in its name where the topic names none; what the name adds
 * beyond the quantity is a channel of it: on `coomb/home/eaves` the records `temp` and `humidity` are of sensor `eaves`
 * and `rafter_temp` is of `eaves.rafter`. Never throws.
 *
 * @param receivedAt UTC ms; relative times count from it
 */
export function readSenml(
  pack: readonly unknown[],
  topicSensor: string | null,
  receivedAt: number,
  limits: PayloadLimits = payloadLimits,
): SenmlPayload {
  const resolved = resolveSenml(pack);
  if (resolved.kind === 'rejected') return resolved;
  const faults = [...resolved.faults];
  const readings: SenmlReading[] = [];
  const unused: ResolvedRecord[] = [];
  for (const record of resolved.records) {
    const { device, channel } = splitName(record.name);
    const measured = typeof record.value === 'number' ? measuredBy(record.unit, channel) : null;
    if (measured === null) {
      unused.push(record);
      continue;
    }
    const [quantity, unit] = measured;
    const rest = withoutQuantity(channel, quantity);
    const sensorKey = keyOf(topicSensor ?? device, rest === topicSensor ? '' : rest);
    const stamped = record.time >= ABSOLUTE_TIME_S ? 'by-device' : 'on-receipt';
    const time = Math.round(record.time * 1000) + (stamped === 'by-device' ? 0 : receivedAt);
    const value = inOwnUnit(quantity, record.value as number, unit);
    const fault =
      keyFault(sensorKey, record.name) ??
      clockFault(time, receivedAt, stamped, limits) ??
      valueFault(quoteText(record.name), quantity, value);
    if (fault === null) readings.push({ sensorKey, quantity, time, value, stamped });
    else faults.push(fault);
  }
  const fault = summary(faults);
  if (readings.length > 0) return { kind: 'readings', readings, fault };
  return { kind: 'rejected', fault: fault ?? nothingKnown(unused) };
}

const keyOf = (device: string, channel: string): string =>
  [device, channel]
    .filter((part) => part !== '')
    .join('.')
    .replaceAll('/', '.');

function keyFault(key: string, name: string): Fault | null {
  if (key === '') {
    const message = `the name ${quoteText(name)} says what is measured and not by which sensor: send it with a base name (bn), or map the topic`;
    return { code: 'no-sensor-name', message };
  }
  if (key.length <= LONGEST_SENSOR_KEY) return null;
  const message = `the name ${quoteText(name)} is longer than the ${LONGEST_SENSOR_KEY} characters of a sensor's key: shorten it, or map the topic`;
  return { code: 'bad-name', message };
}

function nothingKnown(unused: readonly ResolvedRecord[]): Fault {
  if (unused.length === 0) return { code: 'no-value', message: 'the SenML pack holds no measurement' };
  const seen = unused.slice(0, 5).map(({ name, unit }) => `${quoteText(name)} in ${unit === null ? 'no unit' : unit}`);
  const message = `no record of the SenML pack is of a known quantity (${seen.join(', ')}); expected a unit such as Cel, K or %RH, or % with a name that says humidity or moisture, ppm with co2, V with battery`;
  return { code: 'no-known-quantity', message };
}
