import { keyFault, type ReadyMapping, readMapped, topicParts } from './mapping.ts';
import { type Json, type OfSensor, type PayloadLimits, readFlat, readJson, type UnderstoodReading } from './payload.ts';
import { isSenml, readSenml } from './senml.ts';
import { quoteText } from './timestamp.ts';
import { type Address, readTopic } from './topic.ts';
import { fillTemplate } from './topic-pattern.ts';

/** What is known of the homes when a message is read. */
export interface Known {
  /** ids by slug */
  readonly dwellings: ReadonlyMap<string, number>;
  readonly mappings: readonly ReadyMapping[];
}

export interface Misunderstanding {
  readonly code: string;
  /** what is wrong and what to do about it */
  readonly message: string;
}

export type Understanding =
  | {
      readonly kind: 'readings';
      readonly readings: readonly UnderstoodReading[];
      /** what in the message could not be used */
      readonly fault: Misunderstanding | null;
    }
  | { readonly kind: 'rejected'; readonly fault: Misunderstanding };

/**
 * What a message says. On a topic of our own form, by its payload, flat or SenML; else by the mappings whose pattern
 * fits the topic; else as a SenML pack, where there is one dwelling that it can be about. A message on a topic of our
 * own form that is not understood is tried with the mappings too. Never throws.
 *
 * @param receivedAt UTC ms
 */
export function understand(
  topic: string,
  payload: Uint8Array,
  receivedAt: number,
  known: Known,
  limits: PayloadLimits,
): Understanding {
  const address = readTopic(topic);
  const json = readJson(payload, limits);
  if (address.kind === 'sensor') {
    const own = onOwnTopic(address, json, receivedAt, known, limits);
    if (own.kind === 'readings') return own;
    const mapped = byMappings(topic, json, receivedAt, known.mappings, limits);
    return mapped?.kind === 'readings' ? mapped : own;
  }
  const mapped = byMappings(topic, json, receivedAt, known.mappings, limits);
  if (mapped !== null && (mapped.kind === 'readings' || mapped.fault.code !== FINDS_NOTHING)) return mapped;
  if (json.kind === 'json' && isSenml(json.value)) return senmlAnywhere(topic, json.value, receivedAt, known, limits);
  return mapped ?? rejected(address.kind, address.message);
}

const FINDS_NOTHING = 'mapping-finds-nothing';

function onOwnTopic(
  { dwellingSlug, sensorKey }: Extract<Address, { kind: 'sensor' }>,
  json: Json,
  receivedAt: number,
  known: Known,
  limits: PayloadLimits,
): Understanding {
  const dwellingId = known.dwellings.get(dwellingSlug);
  if (dwellingId !== undefined) return ownForms({ dwellingId, sensorKey }, json, receivedAt, limits);
  const message = `there is no dwelling ${quoteText(dwellingSlug)}; known are ${slugs(known)}. Change the topic, or add the dwelling`;
  return rejected('unknown-dwelling', message);
}

/** What a message says by these mappings alone; null when none fits its topic. */
export const understandMapped = (
  topic: string,
  payload: Uint8Array,
  receivedAt: number,
  mappings: readonly ReadyMapping[],
  limits: PayloadLimits,
): Understanding | null => byMappings(topic, readJson(payload, limits), receivedAt, mappings, limits);

/** What the mappings that fit the topic find, all together; null when none fits. */
function byMappings(
  topic: string,
  json: Json,
  receivedAt: number,
  mappings: readonly ReadyMapping[],
  limits: PayloadLimits,
): Understanding | null {
  const fitting: ReadyMapping[] = [];
  const readings: UnderstoodReading[] = [];
  let fault: Misunderstanding | null = null;
  for (const ready of mappings) {
    const parts = topicParts(ready, topic);
    if (parts === null) continue;
    fitting.push(ready);
    const result = byMapping(ready, parts, json, receivedAt, limits);
    if (result.kind === 'nothing') continue;
    if (result.kind === 'readings') readings.push(...result.readings);
    fault ??= result.fault;
  }
  if (readings.length > 0) return { kind: 'readings', readings, fault };
  if (fault !== null) return { kind: 'rejected', fault };
  const first = fitting[0];
  if (first === undefined) return null;
  const sought = first.values.map(({ pointer }) => quoteText(pointer)).join(', ');
  const message = `the mapping of ${quoteText(first.mapping.topicPattern)} finds nothing in the message at ${sought}: change the mapping, or add one for messages of this kind`;
  return rejected(FINDS_NOTHING, message);
}

function byMapping(
  ready: ReadyMapping,
  parts: ReadonlyMap<string, string>,
  json: Json,
  receivedAt: number,
  limits: PayloadLimits,
): Understanding | { readonly kind: 'nothing' } {
  if (json.kind === 'fault') return { kind: 'rejected', fault: json.fault };
  const { dwellingId, sensorKey: template } = ready.mapping;
  if (ready.values.length === 0) {
    const sensorKey = fillTemplate(template, parts);
    const fault = keyFault(sensorKey);
    if (fault !== null) return { kind: 'rejected', fault };
    return ownForms({ dwellingId, sensorKey }, json, receivedAt, limits);
  }
  const mapped = readMapped(ready, parts, json.value, receivedAt, limits);
  if (mapped.kind !== 'readings') return mapped;
  return { ...mapped, readings: mapped.readings.map((reading) => ({ ...reading, dwellingId })) };
}

const rejected = (code: string, message: string): Understanding => ({ kind: 'rejected', fault: { code, message } });

/** A payload that names its own quantities, flat or SenML, of a sensor that is known. */
function ownForms(of: OfSensor, json: Json, receivedAt: number, limits: PayloadLimits): Understanding {
  if (json.kind === 'fault') return { kind: 'rejected', fault: json.fault };
  if (isSenml(json.value)) return inDwelling(of.dwellingId, readSenml(json.value, of.sensorKey, receivedAt, limits));
  return readFlat(json.value, of, receivedAt, limits);
}

function inDwelling(dwellingId: number, senml: ReturnType<typeof readSenml>): Understanding {
  if (senml.kind === 'rejected') return senml;
  return { ...senml, readings: senml.readings.map((reading) => ({ ...reading, dwellingId })) };
}

function senmlAnywhere(
  topic: string,
  pack: readonly unknown[],
  receivedAt: number,
  known: Known,
  limits: PayloadLimits,
): Understanding {
  const [only, ...more] = known.dwellings.values();
  if (only !== undefined && more.length === 0) return inDwelling(only, readSenml(pack, null, receivedAt, limits));
  const message =
    only === undefined
      ? `a SenML pack came on the topic ${quoteText(topic)} and there is no dwelling yet: add one`
      : `a SenML pack came on the topic ${quoteText(topic)}, which does not say for which dwelling; known are ${slugs(known)}. Map the topic to a dwelling`;
  return rejected('which-dwelling', message);
}

function slugs({ dwellings }: Known): string {
  if (dwellings.size === 0) return 'none yet';
  const shown = [...dwellings.keys()].slice(0, 5).map(quoteText).join(', ');
  return dwellings.size > 5 ? `${shown} and ${dwellings.size - 5} more` : shown;
}
