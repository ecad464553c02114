import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { operations } from '../../server/api/contract/operations.ts';
import type { Tonight } from '../../server/api/contract/tonight.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { madeInput, START } from '../analysis/forecast/made-night.ts';

const HOUR = 3_600_000;
const NOW = Date.parse('2026-01-20T18:20:00Z');
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
let now = NOW;

async function send(path: string, body: unknown, method = 'POST'): Promise<Response> {
  return fetch(`${coomb.address}/api/v1/dwellings${path}`, {
    method,
    body: JSON.stringify(body),
    headers: { 'content-type': 'application/json' },
  });
}

async function tonight(): Promise<Tonight> {
  const response = await fetch(`${coomb.address}/api/v1/dwellings/larch/tonight`);
  expect(response.status).toBe(200);
  return operations.getTonight.response.parse(await response.json());
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-tonight-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => now);
  await send('', { slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section });
});

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

describe('tonight by the API', () => {
  it('says that a home without a room or a cold side has not enough', async () => {
    await send('/larch/places', { name: 'Slope', kind: 'ceiling-surface' });
    const { surfaces, night } = await tonight();
    expect(night).toEqual({ date: '2026-01-20', from: '2026-01-20T18:00:00.000Z', to: '2026-01-21T08:00:00.000Z' });
    expect(surfaces).toMatchObject([
      { placeId: 1, kind: 'not-enough', reasons: [{ code: 'room-missing' }, { code: 'cold-side-missing' }] },
    ]);
  });

  it('forecasts from real readings, and the same at every asking within the hour', async () => {
    await send('/larch/places', { name: 'Bedroom', kind: 'room-air' });
    await send('/larch/places', { name: 'Outdoors', kind: 'outdoor-air' });
    const { surface, room, cold } = madeInput(NOW);
    const hours = Math.floor((NOW - START) / HOUR);
    for (const [sensor, placeId, columns] of [
      ['slope', 1, { temperature_c: surface.temperature }],
      ['room', 2, { temperature_c: room.temperature, humidity_pct: room.humidity }],
      ['out', 3, { temperature_c: cold.temperature, humidity_pct: cold.humidity }],
    ] as const) {
      const readings = Array.from({ length: 2 * hours }, (_, k) => ({
        time: new Date(START + k * (HOUR / 2)).toISOString(),
        ...Object.fromEntries(Object.entries(columns).map(([name, column]) => [name, column[Math.floor(k / 2)]])),
      }));
      for (let from = 0; from < readings.length; from += 500) {
        expect((await send(`/larch/readings/${sensor}`, readings.slice(from, from + 500))).status).toBe(200);
      }
      await send(`/larch/sensors/${placeId}/placements`, { placeId, from: '2025-11-01T00:00:00Z' });
    }
    await coomb.settled();
    const first = await tonight();
    expect(first.surfaces).toMatchObject([{ placeId: 1, name: 'Slope', kind: 'forecast', basis: 'own-outdoor' }]);
    now += 20 * 60_000;
    expect((await tonight()).surfaces).toEqual(first.surfaces);
    now = NOW;
  }, 60_000);
});
