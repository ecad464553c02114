import { type Json, type ParsedReading, type PayloadLimits, readFlat, readJson } from './payload.ts';
import { isSenml, readSenml } from './senml.ts';
import { quoteText } from './timestamp.ts';
import { readTopic } from './topic.ts';

/** What is known of the homes when a message is read. */
export interface Known {
  /** ids by slug */
  readonly dwellings: ReadonlyMap<string, number>;
}

export interface UnderstoodReading extends ParsedReading {
  readonly dwellingId: number;
  readonly sensorKey: string;
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
 * What a message says: on a topic of our own form by its payload, flat or SenML; on any other topic as a SenML pack
 * where there is one dwelling that it can be about. Never throws.
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
    const dwellingId = known.dwellings.get(address.dwellingSlug);
    if (dwellingId === undefined) {
      const message = `there is no dwelling ${quoteText(address.dwellingSlug)}; known are ${slugs(known)}. Change the topic, or add the dwelling`;
      return rejected('unknown-dwelling', message);
    }
    return ownForms(dwellingId, address.sensorKey, json, receivedAt, limits);
  }
  if (json.kind === 'json' && isSenml(json.value)) return senmlAnywhere(topic, json.value, receivedAt, known, limits);
  return rejected(address.kind, address.message);
}

const rejected = (code: string, message: string): Understanding => ({ kind: 'rejected', fault: { code, message } });

/** A payload that names its own quantities, flat or SenML, of a sensor that is known. */
function ownForms(
  dwellingId: number,
  sensorKey: string,
  json: Json,
  receivedAt: number,
  limits: PayloadLimits,
): Understanding {
  if (json.kind === 'fault') return { kind: 'rejected', fault: json.fault };
  if (isSenml(json.value)) return inDwelling(dwellingId, readSenml(json.value, sensorKey, receivedAt, limits));
  const flat = readFlat(json.value, receivedAt, limits);
  if (flat.kind === 'rejected') return flat;
  // field by field: this runs for every message, and a spread takes several times as long
  const readings = flat.readings.map(({ quantity, time, value, stamped }) => ({
    dwellingId,
    sensorKey,
    quantity,
    time,
    value,
    stamped,
  }));
  return { kind: 'readings', readings, fault: flat.fault };
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
