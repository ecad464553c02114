import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

const NOW = Date.UTC(2026, 0, 14, 22, 10);
const MINUTE = 60_000;
const section = {
  pitchDeg: 40,
  slopeLengthMm: 900,
  roomHeightMm: 2300,
  liningThicknessMm: 0,
  loftInsulationMm: 300,
  eavesGapMm: 50,
};

let folder: string;
let coomb: Coomb;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-api-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => NOW);
});

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

interface Answer {
  readonly status: number;
  readonly type: string;
  // biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
  readonly body: any;
}

async function call(path: string, init: RequestInit = {}): Promise<Answer> {
  const response = await fetch(`${coomb.address}${path}`, init);
  const text = await response.text();
  return {
    status: response.status,
    type: response.headers.get('content-type') ?? '',
    body: text === '' ? null : JSON.parse(text),
  };
}

/** Calls an operation and holds the answer to its schema in the contract. */
async function operate(name: OperationName, path: string, body?: unknown): Promise<Answer> {
  const operation: Operation = operations[name];
  const answer = await call(`/api/v1${path}`, {
    method: operation.method.toUpperCase(),
    ...(body === undefined
      ? {}
      : {
          body: typeof body === 'string' ? body : JSON.stringify(body),
          headers: { 'content-type': 'application/json' },
        }),
  });
  if (answer.status < 300 && operation.response !== null) operation.response.parse(answer.body);
  return answer;
}

async function sendNight(sensor: string, values: Record<string, number>): Promise<void> {
  const batch = Array.from({ length: 6 }, (_, k) => ({
    time: new Date(NOW - k * 10 * MINUTE).toISOString(),
    ...values,
  }));
  const answer = await operate('sendReadings', `/dwellings/larch/readings/${sensor}`, batch);
  expect(answer.status).toBe(200);
}

describe('a home told to the API from nothing', () => {
  it('is added, found again and changed', async () => {
    const added = await operate('addDwelling', '/dwellings', {
      slug: 'larch',
      name: 'Larch Rise',
      zone: 'Europe/London',
      section,
    });
    expect(added.status).toBe(201);
    expect((await operate('getDwelling', '/dwellings/larch')).body).toEqual(added.body);
    const changed = await operate('changeDwelling', '/dwellings/larch', {
      section: { ...section, liningThicknessMm: 76 },
    });
    expect(changed.body.section.liningThicknessMm).toBe(76);
    expect((await operate('listDwellings', '/dwellings')).body).toHaveLength(1);
  });

  it('cannot be added twice, nor with a zone that does not exist', async () => {
    const again = await operate('addDwelling', '/dwellings', {
      slug: 'larch',
      name: 'Other',
      zone: 'Europe/London',
      section,
    });
    expect(again).toMatchObject({ status: 409, body: { code: 'already-there' } });
    const lost = await operate('addDwelling', '/dwellings', {
      slug: 'lost',
      name: 'Lost',
      zone: 'Europe/Nowhere',
      section,
    });
    expect(lost).toMatchObject({ status: 400, type: expect.stringContaining('application/problem+json') });
    expect(lost.body.errors[0].pointer).toBe('/zone');
  });

  it('gets places, sensors that come with their first reading, and placements', async () => {
    for (const [name, kind] of [
      ['Bedroom', 'room-air'],
      ['Slope', 'ceiling-surface'],
      ['Outdoors', 'outdoor-air'],
      ['Loft', 'loft-air'],
    ]) {
      expect((await operate('addPlace', '/dwellings/larch/places', { name, kind })).status).toBe(201);
    }
    await sendNight('room', { temperature_c: 20, humidity_pct: 50, battery_v: 3 });
    await sendNight('slope', { temperature_c: 12.6 });
    await sendNight('out', { temperature_c: -5, humidity_pct: 90 });
    const sensors = (await operate('listSensors', '/dwellings/larch/sensors')).body;
    expect(sensors.map(({ key }: { key: string }) => key)).toEqual(['room', 'slope', 'out']);
    for (const [id, placeId] of [
      [1, 1],
      [2, 2],
      [3, 3],
    ]) {
      const placed = await operate('placeSensor', `/dwellings/larch/sensors/${id}/placements`, {
        placeId,
        from: '2026-01-01T00:00:00Z',
      });
      expect(placed.status).toBe(201);
      expect(placed.body.placements).toHaveLength(1);
    }
    await coomb.settled();
  });

  it('says how each place is doing, in figures and words', async () => {
    const now = (await operate('getNow', '/dwellings/larch/now')).body;
    expect(now.heard).toEqual({ sensors: 3, heard: 3, lastReading: '2026-01-14T22:10:00.000Z' });
    const slope = now.places.find(({ name }: { name: string }) => name === 'Slope');
    // DIN 4108-2 reference case: 80 % at a 12.6 °C surface; dew point 9.3 °C
    expect(slope.surfaceHumidity.value).toBeCloseTo(80.13, 1);
    expect(slope.dewPoint.value).toBeCloseTo(9.27, 2);
    expect(slope.state.code).toBe('risk');
    expect(now.headline).toMatch(/Slope/);
    const loft = now.places.find(({ name }: { name: string }) => name === 'Loft');
    expect(loft).toMatchObject({ at: null, state: { code: 'no-reading' }, temperature: null });
  });

  it('gives hour records as columns with gaps as null', async () => {
    const hours = (
      await operate(
        'getHours',
        '/dwellings/larch/places/2/hours?from=2026-01-14T20:00:00Z&to=2026-01-15T00:00:00Z&columns=temperature,factorOutdoor,riskHour,coverage',
      )
    ).body;
    expect(hours).toMatchObject({ start: '2026-01-14T20:00:00.000Z', hours: 4 });
    expect(Object.keys(hours.columns)).toEqual(['temperature', 'factorOutdoor', 'riskHour', 'coverage']);
    expect(hours.columns.temperature[0]).toBeNull();
    expect(hours.columns.temperature[1]).toBeCloseTo(12.6, 10);
    expect(hours.columns.factorOutdoor[1]).toBeCloseTo(0.704, 10);
    expect(hours.columns.riskHour[1]).toBe(1);
  });

  it('counts winters', async () => {
    const { winters, criterion } = (await operate('getWinters', '/dwellings/larch/places/2/winters')).body;
    expect(criterion).toContain('80 %');
    expect(winters).toHaveLength(1);
    expect(winters[0]).toMatchObject({ name: '2025/26', riskHours: 1 });
  });

  it('is told that one night is not enough evidence, and why', async () => {
    const { status, body } = await operate('getComparison', '/dwellings/larch/comparison?surface=2');
    expect(status).toBe(200);
    expect(body.assessment.verdict.kind).toBe('not-enough-evidence');
    const codes = body.assessment.sufficiency.findings.map(({ code }: { code: string }) => code);
    expect(codes).toContain('before-missing');
    const notASurface = await operate('getComparison', '/dwellings/larch/comparison?surface=1');
    expect(notASurface).toMatchObject({ status: 400, body: { errors: [{ pointer: '/surface' }] } });
  });

  it('keeps phases and a diary that can be put right', async () => {
    const phase = await operate('addPhase', '/dwellings/larch/phases', {
      kind: 'before',
      name: 'First winter',
      from: '2024-10-01T00:00:00+01:00',
      to: '2025-04-01T00:00:00+01:00',
    });
    expect(phase.body.from).toBe('2024-09-30T23:00:00.000Z');
    const reversed = await operate('changePhase', `/dwellings/larch/phases/${phase.body.id}`, {
      to: '2024-01-01T00:00:00Z',
    });
    expect(reversed).toMatchObject({ status: 400, body: { code: 'bad-request' } });
    const open = await operate('changePhase', `/dwellings/larch/phases/${phase.body.id}`, {
      to: null,
      name: 'Still running',
    });
    expect(open.body).toMatchObject({ to: null, name: 'Still running', from: '2024-09-30T23:00:00.000Z' });
    expect((await operate('removePhase', `/dwellings/larch/phases/${phase.body.id}`)).status).toBe(204);
    expect((await operate('listPhases', '/dwellings/larch/phases')).body).toEqual([]);

    const entry = await operate('addDiaryEntry', '/dwellings/larch/diary', {
      time: '2026-01-10T09:00:00Z',
      kind: 'mould seen',
      text: 'Black spots',
    });
    const mended = await operate('changeDiaryEntry', `/dwellings/larch/diary/${entry.body.id}`, {
      text: 'Black spots, a hand wide',
    });
    expect(mended.body).toMatchObject({ kind: 'mould seen', text: 'Black spots, a hand wide' });
    expect((await operate('removeDiaryEntry', `/dwellings/larch/diary/${entry.body.id}`)).status).toBe(204);
    expect((await operate('removeDiaryEntry', `/dwellings/larch/diary/${entry.body.id}`)).status).toBe(404);
  });

  it('lists a conflict and keeps the first value', async () => {
    const time = new Date(NOW - 10 * MINUTE).toISOString();
    await operate('sendReadings', '/dwellings/larch/readings/slope', { time, temperature_c: 12.6 });
    await operate('sendReadings', '/dwellings/larch/readings/slope', { time, temperature_c: 13 });
    expect((await operate('listConflicts', '/dwellings/larch/conflicts')).body).toEqual([
      expect.objectContaining({ sensorKey: 'slope', quantity: 'temperature', keptValue: 12.6, otherValue: 13 }),
    ]);
  });

  it('keeps what it cannot understand and tells the sender why', async () => {
    const answer = await operate('sendReadings', '/dwellings/larch/readings/slope', '{"temperature_c": 1e400}');
    expect(answer).toMatchObject({ status: 422, body: { code: 'quarantined' } });
    const { total, groups } = (await operate('listQuarantine', '/quarantine')).body;
    expect(total).toBe(1);
    expect(groups[0]).toMatchObject({ topic: 'coomb/larch/slope', lastPayload: '{"temperature_c": 1e400}' });
  });
});

describe('a bad request', () => {
  it.each([
    ['an unknown dwelling', '/dwellings/nowhere', 404, 'not-found'],
    ['an unknown place', '/dwellings/larch/places/99/hours', 404, 'not-found'],
    ['a place that is not a number', '/dwellings/larch/places/x/hours', 400, 'bad-request'],
    ['a time without an offset', '/dwellings/larch/places/1/hours?from=2026-01-14T20:00:00', 400, 'bad-request'],
    [
      'a span that ends before it begins',
      '/dwellings/larch/places/1/hours?from=2026-01-14T20:00:00Z&to=2026-01-13T20:00:00Z',
      400,
      'bad-request',
    ],
    ['an unknown column', '/dwellings/larch/places/1/hours?columns=colour', 400, 'bad-request'],
    ['an address that is not there', '/nothing', 404, 'not-found'],
    ['a broken escape', '/dwellings/%E0%A4%A', 400, 'bad-request'],
  ])('for %s is a problem with a code', async (_name, path, status, code) => {
    expect(await call(`/api/v1${path}`)).toMatchObject({
      status,
      type: expect.stringContaining('problem+json'),
      body: { code, status },
    });
  });

  it('with the wrong method is told which are right', async () => {
    const response = await fetch(`${coomb.address}/api/v1/dwellings/larch/now`, { method: 'DELETE' });
    expect(response.status).toBe(405);
    expect(response.headers.get('allow')).toBe('GET');
  });

  it('that is not JSON, or not sent as JSON, is refused', async () => {
    const broken = await call('/api/v1/dwellings', {
      method: 'POST',
      body: '{',
      headers: { 'content-type': 'application/json' },
    });
    expect(broken).toMatchObject({ status: 400, body: { code: 'bad-request' } });
    const form = await call('/api/v1/dwellings', {
      method: 'POST',
      body: 'slug=x',
      headers: { 'content-type': 'text/plain' },
    });
    expect(form).toMatchObject({ status: 415, body: { code: 'unsupported-media-type' } });
  });

  it('from another site, or under a foreign host name, changes nothing', async () => {
    const foreign = await call('/api/v1/dwellings/larch/diary', {
      method: 'POST',
      body: '{}',
      headers: { origin: 'http://elsewhere.example', 'content-type': 'application/json' },
    });
    expect(foreign).toMatchObject({ status: 403, body: { code: 'foreign-origin' } });
  });
});

describe('the API', () => {
  it('describes every operation of its contract in an OpenAPI 3.1 document', async () => {
    const { body } = await call('/api/v1/openapi.json');
    expect(body.openapi).toBe('3.1.0');
    const described = Object.values(body.paths as Record<string, Record<string, { operationId: string }>>).flatMap(
      (path) => Object.values(path).map(({ operationId }) => operationId),
    );
    expect(described.sort()).toEqual([...Object.keys(operations), 'live'].sort());
  });

  it('is healthy and says which broker it listens to', async () => {
    const { status, body } = await call('/healthz');
    expect(status).toBe(200);
    expect(body).toMatchObject({
      status: 'ok',
      broker: { kind: 'embedded', address: coomb.mqttAddress, connected: true },
    });
  });

  it('tells a page that begins to listen what it missed since it began to ask, and says what is wrong with a time that cannot be', async () => {
    const note = async (): Promise<void> => {
      const entry = { time: new Date(NOW).toISOString(), kind: 'note', text: 'damp above the bed' };
      expect((await operate('addDiaryEntry', '/dwellings/larch/diary', entry)).status).toBe(201);
    };
    const told = async (query: string): Promise<string> => {
      const controller = new AbortController();
      const url = `${coomb.address}/api/v1/dwellings/larch/live${query}`;
      const response = await fetch(url, { signal: controller.signal });
      let heard = '';
      // a change of its own comes after all that is told of first
      const changed = note();
      for await (const chunk of response.body!.pipeThrough(new TextDecoderStream())) {
        heard += chunk;
        if (heard.includes('event: story')) break;
      }
      await changed;
      controller.abort();
      return heard;
    };
    await note();
    const missed = JSON.parse(/^event: missed\ndata: (.*)$/m.exec(await told('?ago=600000'))![1]!);
    expect(missed.names).toContain('story');
    // readings were sent to this home by the tests before, notices never began in it
    expect(missed.names).toContain('reading');
    expect(missed.names).not.toContain('storing');
    expect(await told('')).not.toContain('missed');
    const { status, body } = await call('/api/v1/dwellings/larch/live?ago=yesterday');
    expect(status).toBe(400);
    expect(JSON.stringify(body)).toContain('ago');
  });

  it('tells an open page of a reading and of the hours it changed', async () => {
    const controller = new AbortController();
    const response = await fetch(`${coomb.address}/api/v1/dwellings/larch/live`, { signal: controller.signal });
    expect(response.headers.get('content-type')).toContain('text/event-stream');
    await operate('sendReadings', '/dwellings/larch/readings/room', {
      time: new Date(NOW).toISOString(),
      co2_ppm: 900,
    });
    let heard = '';
    for await (const chunk of response.body!.pipeThrough(new TextDecoderStream())) {
      heard += chunk;
      if (heard.includes('event: hours')) break;
    }
    controller.abort();
    expect(heard).toContain('event: reading\ndata: {"sensorKey":"room","quantity":"co2"');
    expect(heard).toContain('"from":"2026-01-14T22:00:00.000Z","to":"2026-01-14T23:00:00.000Z"');
  });
});
