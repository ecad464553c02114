import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { operations } from '../../server/api/contract/operations.ts';
import type { ForecastScores, Tonight } from '../../server/api/contract/tonight.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { createForecastKeeper } from '../../server/watch/forecast-keeper.ts';
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

const { surface, room, cold } = madeInput(NOW);
const sensors = [
  { key: 'slope', columns: { temperature_c: surface.temperature } },
  { key: 'room', columns: { temperature_c: room.temperature, humidity_pct: room.humidity } },
  { key: 'out', columns: { temperature_c: cold.temperature, humidity_pct: cold.humidity } },
];

/** Half-hourly readings of the sensor that stands at a place, as a device that was offline sends them: in batches. */
async function sendHours(placeId: number, from: number, to: number): Promise<void> {
  const { key, columns } = sensors[placeId - 1]!;
  const readings: Record<string, unknown>[] = [];
  for (let time = from; time < to; time += HOUR / 2) {
    const at = Math.floor((time - START) / HOUR);
    const values = Object.entries(columns).map(([name, column]) => [name, column[at]]);
    readings.push({ time: new Date(time).toISOString(), ...Object.fromEntries(values) });
  }
  for (let k = 0; k < readings.length; k += 500) {
    expect((await send(`/larch/readings/${key}`, readings.slice(k, k + 500))).status).toBe(200);
  }
}

async function scores(): Promise<ForecastScores> {
  const response = await fetch(`${coomb.address}/api/v1/dwellings/larch/forecast-score`);
  expect(response.status).toBe(200);
  return operations.getForecastScore.response.parse(await response.json());
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
    for (const placeId of [1, 2, 3]) await sendHours(placeId, START, NOW);
    for (const placeId of [1, 2, 3]) {
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

describe('an outdoor forecast sent by a script', () => {
  const issued = '2026-01-20T18:00:00Z';
  const frosty = {
    issued,
    hours: Array.from({ length: 36 }, (_, k) => ({
      time: new Date(Date.parse(issued) + k * HOUR).toISOString(),
      temperature_c: -12,
      dew_point_c: -15,
    })),
  };

  it('over MQTT makes a frosty night likelier to condense, and the screen can say so', async () => {
    const [before] = (await tonight()).surfaces;
    const client = await connectAsync(coomb.mqttAddress);
    await client.publishAsync('coomb/larch/outdoor-forecast', JSON.stringify(frosty), { qos: 1, retain: true });
    const [after] = (await tonight()).surfaces;
    if (before?.kind !== 'forecast' || after?.kind !== 'forecast') throw new Error('no forecast');
    expect(before.basis).toBe('own-outdoor');
    expect(after).toMatchObject({ basis: 'forecast-feed', working: { feedIssued: '2026-01-20T18:00:00.000Z' } });
    expect(after.chance).toBeGreaterThan(before.chance);
    await client.publishAsync('coomb/larch/outdoor-forecast', '{"issued": "today"}', { qos: 1 });
    await client.endAsync();
    const { groups } = (await (await fetch(`${coomb.address}/api/v1/quarantine`)).json()) as {
      groups: { topic: string; code: string; message: string }[];
    };
    expect(groups).toMatchObject([{ topic: 'coomb/larch/outdoor-forecast', code: 'bad-forecast' }]);
    expect(groups[0]!.message).toContain('/issued cannot be used');
    expect((await tonight()).surfaces).toEqual([after]);
  });

  it('over HTTP is taken the same way, once', async () => {
    const taken = await send('/larch/readings/outdoor-forecast', frosty);
    expect(await taken.json()).toEqual({ readings: 36, fault: null });
    const bad = await send('/larch/readings/outdoor-forecast', { ...frosty, hours: [] });
    expect(bad.status).toBe(422);
    const dwelling = (await coomb.store.dwellings())[0]!;
    expect(await coomb.store.outdoorForecasts(dwelling.id, 0)).toHaveLength(1);
  });

  it('is left alone when it has grown old, and that is said', async () => {
    now = NOW + 30 * HOUR;
    for (const placeId of [1, 2, 3]) await sendHours(placeId, Math.ceil(NOW / HOUR) * HOUR, now);
    await coomb.settled();
    expect((await tonight()).surfaces).toMatchObject([
      { basis: 'own-outdoor', working: { feedIssued: null, staleFeedIssued: '2026-01-20T18:00:00.000Z' } },
    ]);
    now = NOW;
  });
});

describe('past forecasts', () => {
  const log = { error: (detail: object) => expect(detail).toBeUndefined() };
  const keeper = () => createForecastKeeper({ store: coomb.store, clock: () => now, log });
  const keepDue = async (): Promise<number> => {
    const own = keeper();
    const kept = await own.keepDue();
    await own.close();
    return kept;
  };

  it('are kept as of 12:00 and 18:00, once, however often the program starts', async () => {
    now = Date.parse('2026-01-20T18:05:00Z');
    expect(await keepDue()).toBe(1);
    expect(await keepDue()).toBe(0);
    now = Date.parse('2026-01-20T18:11:00Z');
    expect(await keepDue()).toBe(1);
    now = Date.parse('2026-01-21T03:00:00Z');
    expect(await keepDue()).toBe(0);
    const { nights } = await scores();
    expect(nights.map(({ night, hour, outcome }) => ({ night, hour, outcome }))).toEqual([
      { night: '2026-01-20', hour: 18, outcome: null },
      { night: '2026-01-20', hour: 12, outcome: null },
    ]);
  });

  it('that were missed are made good while the night runs, as of their hour, and say when they were made', async () => {
    now = Date.parse('2026-01-22T04:00:00Z');
    for (const placeId of [1, 2, 3]) await sendHours(placeId, NOW + 30 * HOUR, now);
    await coomb.settled();
    expect(await keepDue()).toBe(2);
    const [late] = (await scores()).nights;
    expect(late).toMatchObject({ night: '2026-01-21', hour: 18, madeAt: '2026-01-22T04:00:00.000Z' });
  });

  it('are scored by the hour records when their night is over', async () => {
    now = Date.parse('2026-01-22T09:00:00Z');
    for (const placeId of [1, 2, 3]) await sendHours(placeId, Date.parse('2026-01-22T04:00:00Z'), now);
    await coomb.settled();
    const { scores: byHour, places, nights } = await scores();
    // there is one surface: by itself it is as all together
    expect(places).toEqual([{ placeId: 1, name: 'Slope', scores: byHour }]);
    const at = (time: string): number => (Date.parse(time) - START) / HOUR;
    for (const past of nights) {
      const from = at(`${past.night}T18:00:00Z`);
      const lowest = Math.min(...surface.margin.slice(from, from + 14));
      expect(past.outcome?.lowest).toBeCloseTo(lowest, 6);
      expect(past.outcome?.wet).toBe(lowest <= 0);
    }
    for (const score of byHour) {
      const own = nights.filter(({ hour }) => hour === score.hour);
      expect(own).toHaveLength(2);
      const sum = own.reduce((total, { chance, outcome }) => total + (chance - Number(outcome!.wet)) ** 2, 0);
      expect(score).toMatchObject({ nights: 2, condensationNights: own.filter(({ outcome }) => outcome!.wet).length });
      expect(score.brier).toBeCloseTo(sum / 2, 12);
    }
    expect((await tonight()).score).toMatchObject({ hour: 18, nights: 2 });
  });
});
