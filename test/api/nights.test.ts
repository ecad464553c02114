import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { HourColumns, Now } from '../../server/api/contract/figures.ts';
import { operations } from '../../server/api/contract/operations.ts';
import type { Night } from '../../server/api/contract/played-night.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

/** The night in which the clock goes forward: 29 March 2026, 01:00 UTC. */
const NOW = Date.UTC(2026, 2, 29, 14, 20);
const START = Date.UTC(2026, 2, 28, 12);
const HOUR = 3_600_000;

let folder: string;
let coomb: Coomb;

const send = async (path: string, method: string, body?: unknown) => {
  const response = await fetch(`${coomb.address}/api/v1${path}`, {
    method,
    headers: { 'content-type': 'application/json' },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
  // biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
  return { status: response.status, body: (await response.json()) as any };
};
const night = async (which: string): Promise<Night> => {
  const answer = await send(`/dwellings/larch/nights/${which}`, 'GET');
  expect(answer.status).toBe(200);
  return operations.getNight.response.parse(answer.body);
};

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-nights-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => NOW);
  const section = {
    pitchDeg: 40,
    slopeLengthMm: 900,
    roomHeightMm: 2300,
    liningThicknessMm: 0,
    loftInsulationMm: 300,
    eavesGapMm: 50,
  };
  await send('/dwellings', 'POST', { slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section });
  for (const [name, kind] of [
    ['Bedroom', 'room-air'],
    ['Slope', 'ceiling-surface'],
    ['Outdoors', 'outdoor-air'],
  ]) {
    await send('/dwellings/larch/places', 'POST', { name, kind });
  }
  // A sensor that shows the same value over and over is taken for stuck.
  const alive = (hour: number) => 0.05 * Math.sin(hour * 40);
  // Every ten minutes for 26 hours: the ceiling cools to wet and warms again; outdoors has a gap of five hours.
  const of = (values: (hour: number) => Record<string, number> | null) =>
    Array.from({ length: 26 * 6 }, (_, k) => ({ k, found: values(k / 6) })).flatMap(({ k, found }) =>
      found === null ? [] : [{ time: new Date(START + k * 600_000).toISOString(), ...found }],
    );
  await send(
    '/dwellings/larch/readings/room',
    'POST',
    of((hour) => ({ temperature_c: 18 + alive(hour), humidity_pct: 65 + alive(hour) })),
  );
  await send(
    '/dwellings/larch/readings/slope',
    'POST',
    of((hour) => ({ temperature_c: 10 + Math.abs(hour - 14) / 2 })),
  );
  await send(
    '/dwellings/larch/readings/out',
    'POST',
    of((hour) => (hour >= 8 && hour < 13 ? null : { temperature_c: 2 + alive(hour), humidity_pct: 90 })),
  );
  for (const id of [1, 2, 3]) {
    await send(`/dwellings/larch/sensors/${id}`, 'PATCH', { model: 'SHT40' });
    await send(`/dwellings/larch/sensors/${id}/placements`, 'POST', { placeId: id, from: '2026-03-01T00:00:00Z' });
  }
  await coomb.settled();
});

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

describe('a night that is played', () => {
  it('has an entry for each of the 23 hours in which the clock goes forward, with the values of the hour records', async () => {
    const played = await night('2026-03-28');
    expect(played).toMatchObject({
      night: '2026-03-28',
      hours: 23,
      start: '2026-03-28T12:00:00.000Z',
      nightFrom: '2026-03-28T18:00:00.000Z',
      nightTo: '2026-03-29T07:00:00.000Z',
      firstNight: '2026-03-28',
      lastNight: '2026-03-29',
    });
    expect(played.headlines).toHaveLength(23);
    for (const place of played.places) {
      const to = new Date(START + 23 * HOUR).toISOString();
      const { columns } = (
        await send(`/dwellings/larch/places/${place.placeId}/hours?from=${played.start}&to=${to}`, 'GET')
      ).body as HourColumns;
      expect(place.states).toHaveLength(23);
      expect(place.figures.temperature!.values).toEqual(columns.temperature);
      if (place.kind === 'ceiling-surface') {
        expect(place.figures.margin!.values).toEqual(columns.margin);
        expect(place.figures.surfaceHumidity!.values).toEqual(columns.surfaceHumidity);
      } else {
        expect(place.figures.humidity!.values).toEqual(columns.humidity);
        expect(place.figures.margin!.values.every((value) => value === null)).toBe(true);
      }
      expect(place.figures.temperature!.plusMinus.some((value) => value !== null && value > 0)).toBe(true);
    }
  });

  it('says of each hour what it would have said then', async () => {
    const { places, headlines } = await night('2026-03-28');
    const surface = places.find(({ kind }) => kind === 'ceiling-surface')!;
    // 18 °C and 65 %: dew point 11.3 °C (Magnus over water, WMO-No. 8); below it the hours about the fourteenth
    surface.states.forEach(({ code }, hour) => {
      const temperature = surface.figures.temperature!.values[hour]!;
      if (temperature < 11.2) expect(code).toBe('condensing');
      if (temperature > 11.4) expect(code).not.toBe('condensing');
    });
    expect(surface.states[14]!.code).toBe('condensing');
    expect(headlines[14]!.headline).toBe('Moisture settled: Slope.');
    const outdoors = places.find(({ kind }) => kind === 'outdoor-air')!;
    expect(outdoors.states[10]).toMatchObject({ code: 'gap', words: 'not measured' });
    expect(outdoors.figures.temperature!.values[10]).toBeNull();
  });

  it('is the last one when no date is given, empty where nothing was measured, and refused where it is no date', async () => {
    expect((await night('last')).night).toBe('2026-03-29');
    const before = await night('2025-10-25');
    expect(before.hours).toBe(25);
    expect(before.places.every(({ states }) => states.every(({ code }) => code === 'gap'))).toBe(true);
    expect(before.headlines[0]!.headline).toBe('Nothing was measured in this hour.');
    expect((await send('/dwellings/larch/nights/2026-02-30', 'GET')).status).toBe(400);
    expect((await send('/dwellings/nowhere/nights/last', 'GET')).status).toBe(404);
  });
});

describe('now', () => {
  it('tells rising from falling from steady', async () => {
    const now = (await send('/dwellings/larch/now', 'GET')).body as Now;
    const trendOf = (kind: string) => now.places.find((place) => place.kind === kind)!.trends;
    // The last whole hour ended at 14:00; the ceiling rises by half a kelvin an hour, and the room stands still.
    expect(trendOf('ceiling-surface')).toMatchObject([{ quantity: 'margin', kind: 'rising', hours: 5 }]);
    expect(trendOf('ceiling-surface')[0]!.change).toBeCloseTo(2.5, 1);
    expect(trendOf('room-air').map(({ quantity, kind }) => [quantity, kind])).toEqual([
      ['temperature', 'steady'],
      ['vapourPressure', 'steady'],
    ]);
  });

  it('knows no trend of a place whose sensor was put there an hour ago', async () => {
    await send('/dwellings/larch/places', 'POST', {
      name: 'Edge',
      kind: 'ceiling-surface',
      position: { along: 0.97, up: 0 },
    });
    await send('/dwellings/larch/sensors/2/placements', 'POST', {
      placeId: 4,
      from: new Date(NOW - HOUR).toISOString(),
    });
    await coomb.settled();
    const now = (await send('/dwellings/larch/now', 'GET')).body as Now;
    const edge = now.places.find(({ placeId }) => placeId === 4)!;
    expect(edge).toMatchObject({ trends: [], position: { along: 0.97, up: 0 } });
    expect(edge.temperature).not.toBeNull();
  });

  it('keeps where a place is drawn, and refuses a spot off the section', async () => {
    const put = await send('/dwellings/larch/places/1', 'PATCH', { position: { along: 0.2, up: 0.4 } });
    expect(put).toMatchObject({ status: 200, body: { position: { along: 0.2, up: 0.4 } } });
    const off = await send('/dwellings/larch/places/1', 'PATCH', { position: { along: 1.2, up: 0.4 } });
    expect(off).toMatchObject({ status: 400, body: { errors: [{ pointer: '/position/along' }] } });
    expect((await send('/dwellings/larch/places/1', 'PATCH', { position: null })).body.position).toBeNull();
  });
});
