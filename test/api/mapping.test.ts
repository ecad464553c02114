import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { pino } from 'pino';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

const NOW = Date.UTC(2026, 0, 14, 22, 10);
let time = NOW;
let folder: string;
let coomb: Coomb;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-mapping-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => time);
});
afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

/** Calls an operation and holds a good answer to its schema in the contract. */
// biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
async function operate(name: OperationName, path: string, body?: unknown): Promise<{ status: number; body: any }> {
  const operation: Operation = operations[name];
  const response = await fetch(`${coomb.address}/api/v1${path}`, {
    method: operation.method.toUpperCase(),
    ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'content-type': 'application/json' } }),
  });
  const text = await response.text();
  const answer = { status: response.status, body: text === '' ? null : JSON.parse(text) };
  if (answer.status < 300 && operation.response !== null) operation.response.parse(answer.body);
  return answer;
}

const mapping = {
  topicPattern: 'attic/{sensor}/state',
  sensorKey: 'attic-{sensor}',
  values: [
    { pointer: '/climate/t', quantity: 'temperature', unit: 'F' },
    { pointer: '/climate/rh', quantity: 'humidity', unit: '%' },
  ],
};

it('a sensor of a form of its own becomes known by a mapping, and what it sent before is read in', async () => {
  const section = {
    pitchDeg: 40,
    slopeLengthMm: 900,
    roomHeightMm: 2300,
    liningThicknessMm: 0,
    loftInsulationMm: 300,
    eavesGapMm: 50,
  };
  await operate('addDwelling', '/dwellings', { slug: 'larch', name: 'Larch', zone: 'Europe/London', section });
  const device = await mqtt.connectAsync(coomb.mqttAddress, { reconnectPeriod: 0 });
  const publish = (payload: string) => device.publishAsync('attic/beam/state', payload, { qos: 1 });
  for (let k = 0; k < 3; k++) {
    await publish(JSON.stringify({ climate: { t: 50 + k, rh: 80 + k }, fan: true }));
    time += 60_000;
  }

  const unassigned = await operate('listUnassigned', '/unassigned');
  expect(unassigned.body).toMatchObject([
    {
      topic: 'attic/beam/state',
      count: 3,
      fault: { code: 'unknown-topic' },
      tree: { value: { climate: { t: 52, rh: 82 }, fan: true } },
      leaves: [
        { pointer: '/climate/t', value: 52, quantity: { quantity: 'temperature', unit: 'C' }, time: null },
        { pointer: '/climate/rh', value: 82, quantity: { quantity: 'humidity', unit: '%' } },
        { pointer: '/fan', value: true, quantity: null },
      ],
      suggestion: { topicPattern: 'attic/{sensor}/state', sensorKey: '{sensor}' },
    },
  ]);

  const preview = await operate('previewMapping', '/dwellings/larch/mapping-preview', mapping);
  expect(preview.body.messages).toHaveLength(3);
  expect(preview.body.messages[2]).toEqual({
    topic: 'attic/beam/state',
    receivedAt: '2026-01-14T22:10:00.000Z',
    readings: [
      { sensorKey: 'attic-beam', quantity: 'temperature', unit: '°C', time: '2026-01-14T22:10:00.000Z', value: 10 },
      { sensorKey: 'attic-beam', quantity: 'humidity', unit: '%', time: '2026-01-14T22:10:00.000Z', value: 80 },
    ],
    fault: null,
  });
  expect((await operate('listSensors', '/dwellings/larch/sensors')).body).toEqual([]);

  const added = await operate('addMapping', '/dwellings/larch/mappings', mapping);
  expect(added.status).toBe(201);
  expect(added.body).toMatchObject({
    mapping: { id: 1, filter: 'attic/+/state', subscribed: true, time: null, values: [{ scale: 1, offset: 0 }, {}] },
    readIn: { messages: 3, readings: 6, left: 0 },
  });
  expect((await operate('listUnassigned', '/unassigned')).body).toEqual([]);
  expect((await operate('listQuarantine', '/quarantine')).body).toEqual({ total: 0, groups: [], notKept: [] });
  expect((await operate('readInQuarantine', '/quarantine/read-in')).body).toEqual({
    messages: 0,
    readings: 0,
    left: 0,
  });

  await publish(JSON.stringify({ climate: { t: 68, rh: 60 } }));
  await device.endAsync();
  const sensors = await operate('listSensors', '/dwellings/larch/sensors');
  expect(sensors.body).toMatchObject([
    { key: 'attic-beam', series: [{ last: { time: '2026-01-14T22:13:00.000Z', value: 20 } }, { last: { value: 60 } }] },
  ]);
});

it('a mapping that cannot be used is refused with all that is wrong with it', async () => {
  const bad = { ...mapping, topicPattern: 'attic/#/x', values: [{ ...mapping.values[0], unit: 'V', pointer: 't' }] };
  for (const [name, path] of [
    ['addMapping', '/dwellings/larch/mappings'],
    ['previewMapping', '/dwellings/larch/mapping-preview'],
  ] as const) {
    const answer = await operate(name, path, bad);
    expect(answer).toMatchObject({ status: 400, body: { code: 'bad-request' } });
    expect(answer.body.errors.map(({ pointer }: { pointer: string }) => pointer)).toEqual([
      '/topicPattern',
      '/values/0/unit',
      '/values/0/pointer',
    ]);
  }
  expect(await operate('addMapping', '/dwellings/larch/mappings', { ...mapping, unit: 'C' })).toMatchObject({
    status: 400,
  });
  expect((await operate('addMapping', '/dwellings/oak/mappings', mapping)).status).toBe(404);
});

it('a mapping is changed and removed, and what it read stays', async () => {
  const path = '/dwellings/larch/mappings/1';
  expect((await operate('changeMapping', path, { sensorKey: '{beam}' })).body.errors).toMatchObject([
    { pointer: '/sensorKey' },
  ]);
  const changed = await operate('changeMapping', path, { time: { pointer: '/at', form: 'epoch-s' } });
  expect(changed.body.mapping).toMatchObject({ sensorKey: 'attic-{sensor}', time: { form: 'epoch-s' } });
  expect((await operate('listMappings', '/dwellings/larch/mappings')).body).toEqual([changed.body.mapping]);
  expect((await operate('removeMapping', path)).status).toBe(204);
  expect((await operate('removeMapping', path)).status).toBe(404);
  expect((await operate('changeMapping', path, {})).status).toBe(404);
  expect((await operate('listMappings', '/dwellings/larch/mappings')).body).toEqual([]);
  expect((await operate('listSensors', '/dwellings/larch/sensors')).body).toHaveLength(1);
});
