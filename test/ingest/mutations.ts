import { prepareMapping, type ReadyMapping } from '../../server/ingest/mapping.ts';
import { payloadLimits } from '../../server/ingest/payload.ts';
import type { Known, Understanding } from '../../server/ingest/understand.ts';
import { quantities } from '../../server/physics/quantities.ts';
import type { Mapping, New } from '../../server/store/port.ts';
import { seeded } from '../physics/seeded.ts';

export const RECEIVED_AT = Date.UTC(2026, 0, 31, 17, 20, 0);

export const mappingOf = (dwellingId: number): New<Mapping> => ({
  dwellingId,
  topicPattern: 'attic/{sensor}/#',
  sensorKey: 'attic-{sensor}',
  values: [
    { pointer: '/climate/t', quantity: 'temperature', unit: 'F', scale: 0.1, offset: 0, sensorKey: null },
    { pointer: '/climate/rh', quantity: 'humidity', unit: 'ratio', scale: 1, offset: 0, sensorKey: null },
    { pointer: '/0', quantity: 'co2', unit: 'ppm', scale: 1, offset: 0, sensorKey: '{sensor}.air' },
  ],
  time: { pointer: '/at', form: 'iso-8601' },
});

export function knownHome(dwellingId: number): Known {
  const result = prepareMapping(mappingOf(dwellingId));
  const mappings: ReadyMapping[] = result.kind === 'ready' ? [result.ready] : [];
  if (mappings.length === 0) throw new Error('the mapping of the fuzz does not fit');
  return { dwellings: new Map([['gable-cottage', dwellingId]]), mappings };
}

const topics = [
  'coomb/gable-cottage/eaves',
  'coomb/mill-house/eaves',
  'attic/beam/state',
  'garden/shed',
  '$SYS/x',
  'coomb/gable-cottage/\u{1f3e0}',
];

const seeds = [
  '{"temperature_c": 12.6, "humidity_pct": 80, "time": "2026-01-31T17:00:00Z", "battery_v": 2.97}',
  '[{"time": 1769879000, "temperature_c": 1}, {"time": 1769878000000, "temperature_c": 2, "timber_moisture_pct": 17}]',
  '[{"bn":"urn:dev:ow:10e2073a01080063","bt":1.769878e+09,"bu":"%RH","v":20},{"u":"lon","v":24.3},{"t":60,"v":20.3},{"u":"%EL","t":150,"v":98}]',
  '[{"bn":"2001:db8::2/","bver":10,"n":"temperature","u":"Cel","v":27.2},{"n":"rafter_rh","u":"/","bv":0.2,"v":0.5},{"n":"label","vs":"x"},{"n":"on","vb":false}]',
  '{"climate": {"t": 681, "rh": "0.61"}, "at": "2026-01-31T18:10:00+01:00", "fan": [true, null]}',
  '{"climate": {"t": null, "rh": 0.9}, "at": null}',
  '812',
  '"21.5"',
].map((text) => Buffer.from(text));

const tokens = [
  '1e400',
  '-1e400',
  '1e308',
  '-0',
  '0.0000000001',
  '9007199254740993',
  'NaN',
  'Infinity',
  'null',
  'true',
  '""',
  '"x"',
  '[]',
  '{}',
  '[[[[',
  ']]]]',
  '{"__proto__":{"v":1}}',
  '"time":',
  '"n":',
  '"v":',
  '"bt":',
  '"bver":',
  '"x_":1,',
  ',',
  ':',
  '"1970-01-01T00:00:00Z"',
  '"2026-02-30T00:00:00"',
  '\u0000',
  '\ufeff',
  '\\ud800',
  '"\\u0000"',
  '4294967296',
  '268435456',
].map((text) => Buffer.from(text));

const members = [
  '"x_":1',
  '"bt":"noon"',
  '"bver":11',
  '"bver":10',
  '"vs":"x"',
  '"bn":"-"',
  '"v":1',
  '"time":5',
  '"at":7',
];

export interface Mutant {
  readonly topic: string;
  readonly payload: Uint8Array;
}

/** One message after another, each a good one with one to four faults put in. */
export function mutator(seed: number): () => Mutant {
  const random = seeded(seed);
  const below = (count: number): number => Math.floor(random() * count);
  const pick = <T>(from: readonly T[]): T => from[below(from.length)]!;
  const number = /-?\d+(?:\.\d+)?/g;

  function once(payload: Buffer): Buffer {
    const at = below(payload.length + 1);
    const to = Math.min(payload.length, at + below(12));
    const insert = (piece: Uint8Array): Buffer => Buffer.concat([payload.subarray(0, at), piece, payload.subarray(to)]);
    switch (below(12)) {
      case 0: {
        if (payload.length === 0) return payload;
        const copy = Buffer.from(payload);
        copy[Math.min(at, payload.length - 1)]! ^= 1 << below(8);
        return copy;
      }
      case 1:
        return Buffer.concat([payload.subarray(0, at), payload.subarray(to)]);
      case 2:
        return insert(pick(tokens));
      case 3:
        return insert(Buffer.from(Array.from({ length: below(8) }, () => below(256))));
      case 4:
        return payload.length > 4096 ? payload.subarray(0, at) : Buffer.concat([payload, payload.subarray(at)]);
      case 5:
        return Buffer.concat([payload.subarray(0, at), pick(seeds).subarray(below(40))]);
      case 6:
        return payload.subarray(0, at);
      case 7: {
        // another member in an object, which may stand for an earlier one of that name
        const text = payload.toString('latin1');
        return Buffer.from(text.replace('{', `{${pick(members)},`), 'latin1');
      }
      default: {
        // a number becomes another value, so that the message stays JSON
        const text = payload.toString('latin1');
        const count = text.match(number)?.length ?? 0;
        const chosen = below(Math.max(1, count));
        let k = 0;
        const value = random() < 0.5 ? String((random() - 0.5) * 10 ** below(14)) : pick(tokens).toString('latin1');
        return Buffer.from(
          text.replaceAll(number, (found) => (k++ === chosen ? value : found)),
          'latin1',
        );
      }
    }
  }

  return () => {
    let payload: Buffer = pick(seeds);
    for (let left = 1 + below(4) * below(2); left > 0; left--) payload = once(payload);
    return { topic: pick(topics), payload };
  };
}

/** What is wrong with how a message was understood, or null: readings in range and of our time, or a reason in words. */
export function unsound(understood: Understanding): string | null {
  const { fault } = understood;
  if (fault !== null && !(fault.message.length > 10 && fault.message.length < 2500)) return `reason: ${fault.message}`;
  if (understood.kind === 'rejected') return null;
  if (understood.readings.length === 0) return 'neither a reading nor a reason';
  for (const { quantity, value, time, sensorKey } of understood.readings) {
    const { low, high } = quantities[quantity];
    if (!(value >= low && value <= high)) return `${quantity} is ${value}`;
    if (!(Number.isSafeInteger(time) && time >= Date.UTC(2000, 0, 1))) return `time is ${time}`;
    if (!(time <= RECEIVED_AT + payloadLimits.maxAheadMs)) return `time is ${time}`;
    if (sensorKey === '' || sensorKey.length > 300) return `sensor is ${sensorKey}`;
  }
  return null;
}
