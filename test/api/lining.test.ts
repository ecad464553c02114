import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { BuildUpsWire } from '../../server/api/contract/build-ups.ts';
import type { LiningAnswer } from '../../server/api/contract/lining-answer.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

const NOW = Date.UTC(2026, 0, 31, 12);
const HOUR = 3_600_000;
let folder: string;
let coomb: Coomb;

interface Answered {
  readonly status: number;
  readonly body: unknown;
}

async function call(method: string, path: string, body?: unknown): Promise<Answered> {
  const response = await fetch(`${coomb.address}/api/v1${path}`, {
    method,
    ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'content-type': 'application/json' } }),
  });
  const text = await response.text();
  return { status: response.status, body: text === '' ? null : JSON.parse(text) };
}

const example = (): Record<string, unknown> & { before: { layers: Record<string, unknown>[] } } =>
  JSON.parse(readFileSync(new URL('../../sample-data/lining-example.json', import.meta.url), 'utf8'));

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-lining-api-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => NOW);
  const section = {
    ...{ pitchDeg: 40, slopeLengthMm: 900, roomHeightMm: 2300 },
    ...{ liningThicknessMm: 40, loftInsulationMm: 300, eavesGapMm: 50 },
  };
  await call('POST', '/dwellings', { slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section });
});

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

describe('the lining check', () => {
  it('gives what the command gives: plasterboard under a ventilated void has f 0.60 at Rsi 0.10', async () => {
    const { status, body } = await call('POST', '/dwellings/larch/lining-check', example());
    expect(status).toBe(200);
    const answer = body as LiningAnswer;
    // 0.10 + 0.0125/0.25 + 0.10 = 0.25 m2K/W, f = 1 - 0.10/0.25, by hand
    expect(answer.before.by_surface_resistance[0]!.temperature_factor).toBeCloseTo(0.6, 10);
    expect(answer.measured).toBeNull();
    expect(answer.cautions.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['foam-fire', 'cables', 'eaves-gap', 'old-coatings', 'vapour-control']),
    );
  });

  it('gives the drawing its spots in order, the surface first, each layer ending where the next begins', async () => {
    const { body } = await call('POST', '/dwellings/larch/lining-check', example());
    const { profile_at_design: profile, boundaries_at_design: boundaries } = (body as LiningAnswer).after;
    expect(profile[0]).toMatchObject({ layer: -1, depth: 1 });
    // foam of 70 mm resists 0.07/0.022 = 3.18 m2K/W: cut into 13 parts of at most 0.25 (ISO 13788, 6.4.1)
    expect(profile.filter(({ layer }) => layer === 2)).toHaveLength(13);
    const ends = profile.filter(({ depth }) => depth === 1);
    expect(ends.map(({ temperature_c }) => temperature_c)).toEqual(
      boundaries.map(({ temperature_c }) => temperature_c),
    );
    for (let i = 1; i < profile.length; i++) {
      expect(profile[i]!.temperature_c).toBeLessThanOrEqual(profile[i - 1]!.temperature_c);
    }
  });

  it('says where a value cannot be, with a pointer to it', async () => {
    const thin = example();
    thin.before.layers[1]!.thickness_mm = -1;
    const refused = await call('POST', '/dwellings/larch/lining-check', thin);
    expect(refused).toMatchObject({ status: 400, body: { code: 'bad-request' } });
    expect(JSON.stringify(refused.body)).toContain('/before/layers/1/thickness_mm');
    const nothingLeft = example();
    nothingLeft.before.layers.splice(0, 2);
    const contradicts = await call('POST', '/dwellings/larch/lining-check', nothingLeft);
    expect(contradicts.status).toBe(400);
    expect(JSON.stringify(contradicts.body)).toContain('/before/layers/0');
  });
});

describe('what was measured beside what is predicted', () => {
  const FROM = NOW - 12 * 24 * HOUR;
  const WORKS = NOW - 6 * 24 * HOUR;

  it('agrees where the sensors read what the layers lead to, and tells an offset that was put in', async () => {
    for (const [name, kind] of [
      ['Bedroom', 'room-air'],
      ['Slope', 'ceiling-surface'],
      ['Outdoors', 'outdoor-air'],
      ['Behind', 'behind-lining'],
    ]) {
      await call('POST', '/dwellings/larch/places', { name, kind });
    }
    // Steady air, so that no heat is stored: before, f 0.60 by hand; after, the plain foam path by hand below.
    const [room, out] = [20, 0];
    const lined = 0.1 + 0.006 / 0.18 + 0.07 / 0.022 + 0.0125 / 0.25 + 0.1;
    const before = out + 0.6 * (room - out);
    const after = room - (0.1 / lined) * (room - out);
    const behind = room - ((lined - 0.1 - 0.0125 / 0.25) / lined) * (room - out);
    const OFFSET = 0.7;
    const send = async (sensor: string, values: (time: number) => Record<string, number>) => {
      const batch: object[] = [];
      for (let time = FROM; time < NOW; time += HOUR / 6) {
        // a reading that never changes would be taken for a stuck sensor, and not counted
        const stir = 0.02 * (((time / (HOUR / 6)) % 7) - 3);
        const stirred = Object.entries(values(time)).map(([name, value]) => [name, value + stir]);
        batch.push({ time: new Date(time).toISOString(), ...Object.fromEntries(stirred) });
      }
      expect((await call('POST', `/dwellings/larch/readings/${sensor}`, batch)).status).toBe(200);
    };
    await send('room', () => ({ temperature_c: room, humidity_pct: 50 }));
    await send('out', () => ({ temperature_c: out, humidity_pct: 80 }));
    await send('slope', (time) => ({ temperature_c: (time < WORKS ? before : after) + OFFSET }));
    await send('behind', () => ({ temperature_c: behind, humidity_pct: 70 }));
    const sensors = (await call('GET', '/dwellings/larch/sensors')).body as { id: number; key: string }[];
    const places = (await call('GET', '/dwellings/larch/places')).body as { id: number; kind: string }[];
    for (const [key, kind] of [
      ['room', 'room-air'],
      ['out', 'outdoor-air'],
      ['slope', 'ceiling-surface'],
      ['behind', 'behind-lining'],
    ]) {
      const { id } = sensors.find((one) => one.key === key)!;
      const placeId = places.find((one) => one.kind === kind)!.id;
      const from = new Date(FROM - HOUR).toISOString();
      await call('POST', `/dwellings/larch/sensors/${id}/placements`, { placeId, from });
    }
    const iso = (time: number) => new Date(time).toISOString();
    await call('POST', '/dwellings/larch/phases', { kind: 'before', name: 'Before', from: iso(FROM), to: iso(WORKS) });
    await call('POST', '/dwellings/larch/phases', { kind: 'after', name: 'After', from: iso(WORKS), to: null });
    await coomb.settled();
    const answered = await call('POST', '/dwellings/larch/lining-check?log=own', example());
    const measured = (answered.body as LiningAnswer).measured ?? [];
    expect(measured.filter(({ hours }) => hours >= 72)).toHaveLength(4);
    const of = (place: string, phase: string, quantity: string) =>
      measured.find((one) => one.place === place && one.phase === phase && one.quantity === quantity)!;
    for (const [phase, predicted] of [
      ['before', before],
      ['after', after],
    ] as const) {
      const slope = of('Slope', phase, 'temperature');
      // the conduction grid is exact at rest to well under a hundredth
      expect(slope.predicted).toBeCloseTo(predicted, 2);
      expect(slope.difference!.value).toBeCloseTo(OFFSET, 2);
      expect(slope.difference!.low).toBeLessThan(slope.difference!.value - 0.3);
      expect(slope.hours).toBe(6 * 24);
    }
    expect(of('Behind', 'after', 'temperature').difference!.value).toBeCloseTo(0, 2);
    expect(of('Behind', 'after', 'humidity').measured).toBeCloseTo(70, 1);
  }, 60_000);
});

describe('build-ups kept with a dwelling', () => {
  it('are kept, listed, changed and removed, and a broken one is refused', async () => {
    const kept = await call('POST', '/dwellings/larch/build-ups', { name: 'Foam', file: example() });
    expect(kept.status).toBe(201);
    const { id, file, savedAt } = kept.body as BuildUpsWire;
    expect(savedAt).toBe(new Date(NOW).toISOString());
    expect(file).toMatchObject({ pitch_deg: 40, before: { layers: example().before.layers } });
    expect((await call('PATCH', `/dwellings/larch/build-ups/${id}`, { name: 'Foam and board' })).body).toMatchObject({
      id,
      name: 'Foam and board',
    });
    expect(((await call('GET', '/dwellings/larch/build-ups')).body as BuildUpsWire[]).map(({ name }) => name)).toEqual([
      'Foam and board',
    ]);
    expect((await call('POST', '/dwellings/larch/build-ups', { name: 'x', file: { pitch_deg: 40 } })).status).toBe(400);
    expect((await call('DELETE', `/dwellings/larch/build-ups/${id}`)).status).toBe(204);
    expect((await call('DELETE', `/dwellings/larch/build-ups/${id}`)).status).toBe(404);
    expect((await call('GET', '/dwellings/larch/build-ups')).body).toEqual([]);
  });
});
