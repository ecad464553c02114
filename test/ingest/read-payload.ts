import { type Payload, payloadLimits, readFlat, readJson } from '../../server/ingest/payload.ts';

/** The readings in the flat form of a message, of some sensor. */
export function readPayload(bytes: Uint8Array, receivedAt: number, limits = payloadLimits): Payload {
  const json = readJson(bytes, limits);
  if (json.kind === 'fault') return { kind: 'rejected', fault: json.fault };
  return readFlat(json.value, { dwellingId: 1, sensorKey: 'eaves' }, receivedAt, limits);
}
