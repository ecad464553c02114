import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { HourColumns } from '../../server/api/contract/figures.ts';
import { operations } from '../../server/api/contract/operations.ts';
import type { TrackFigureWire, TrackWire } from '../../server/api/contract/track.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

/** Forty days of a room and a surface, a reading every ten minutes, with one warm reading and five hours without any. */
const FROM = Date.UTC(2026, 0, 1);
const DAYS = 40;
const NOW = FROM + DAYS * 86_400_000;
const TEN_MINUTES = 600_000;
const HOUR = 3_600_000;
const PEAK = { time: FROM + 17 * 86_400_000 + 3 * HOUR + 2 * TEN_MINUTES, kelvin: 2.5 };
const SILENT = { from: FROM + 9 * 86_400_000 + 10 * HOUR, to: FROM + 9 * 86_400_000 + 15 * HOUR };

const slow = (time: number): number => Math.sin((2 * Math.PI * time) / 86_400_000);
const round = (value: number): number => Math.round(value * 100) / 100;
const roomAt = (time: number): number => round(20 + slow(time) + (time === PEAK.time ? PEAK.kelvin : 0));

let folder: string;
let coomb: Coomb;

async function send(path: string, body: unknown, method = 'POST'): Promise<void> {
  const response = await fetch(`${coomb.address}/api/v1${path}`, {
    method,
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
  if (!response.ok) throw new Error(`${path}: ${await response.text()}`);
}

const ask = async (path: string): Promise<unknown> => {
  const response = await fetch(`${coomb.address}/api/v1/dwellings/alder${path}`);
  expect(response.status).toBe(200);
  return response.json();
};

async function track(place: number, figures: string, from: number, to: number, points: number): Promise<TrackWire> {
  const answer = await ask(
    `/places/${place}/track?figures=${figures}&from=${new Date(from).toISOString()}&to=${new Date(to).toISOString()}&points=${points}`,
  );
  return operations.getTrack.response.parse(answer);
}
const one = async (...args: Parameters<typeof track>): Promise<TrackFigureWire> => (await track(...args)).figures[0]!;
const highest = (figure: TrackFigureWire): number => Math.max(...figure.max.filter((value) => value !== null));
const beginsOf = ({ start, begins }: TrackFigureWire): number[] => begins.map((at) => Date.parse(start) + at * 1000);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-track-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => NOW);
  await send('/dwellings', {
    slug: 'alder',
    name: 'Alder Rise',
    zone: 'Europe/London',
    section: {
      pitchDeg: 40,
      slopeLengthMm: 900,
      roomHeightMm: 2300,
      liningThicknessMm: 0,
      loftInsulationMm: 300,
      eavesGapMm: 50,
    },
  });
  for (const [name, kind] of [
    ['Room', 'room-air'],
    ['Slope', 'ceiling-surface'],
    ['Outdoors', 'outdoor-air'],
  ]) {
    await send('/dwellings/alder/places', { name, kind });
  }
  const times = Array.from({ length: (NOW - FROM) / TEN_MINUTES }, (_, k) => FROM + k * TEN_MINUTES).filter(
    (time) => time < SILENT.from || time >= SILENT.to,
  );
  const values = {
    room: (time: number) => ({ temperature_c: roomAt(time), humidity_pct: round(55 + 3 * slow(time)) }),
    slope: (time: number) => ({ temperature_c: round(14 + 2 * slow(time)) }),
    out: (time: number) => ({ temperature_c: round(4 + 3 * slow(time)), humidity_pct: round(85 - 5 * slow(time)) }),
  };
  for (const [sensor, of] of Object.entries(values)) {
    await send(
      `/dwellings/alder/readings/${sensor}`,
      times.map((time) => ({ time: new Date(time).toISOString(), ...of(time) })),
    );
  }
  for (const id of [1, 2, 3]) {
    await send(`/dwellings/alder/sensors/${id}/placements`, { placeId: id, from: new Date(FROM).toISOString() });
  }
  await send('/dwellings/alder/sensors/1', { model: 'SHT40' }, 'PATCH');
  await coomb.settled();
}, 120_000);

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

describe('a track', () => {
  it('shows a peak of one reading whatever resolution is asked for', async () => {
    for (const points of [2, 7, 40, 41, 300, 960, 6000]) {
      const figure = await one(1, 'temperature', FROM, NOW, points);
      expect(figure.begins.length).toBeLessThanOrEqual(points);
      expect(highest(figure)).toBe(roomAt(PEAK.time));
      const at = figure.max.indexOf(roomAt(PEAK.time));
      const begins = beginsOf(figure);
      expect(begins[at]!).toBeLessThanOrEqual(PEAK.time);
      expect(begins[at + 1] ?? Date.parse(figure.start) + figure.end * 1000).toBeGreaterThan(PEAK.time);
    }
  });

  it('is reading by reading what was sent, where that is few enough', async () => {
    const to = PEAK.time + HOUR;
    const figure = await one(1, 'temperature', PEAK.time - (PEAK.time % HOUR), to - (to % HOUR), 100);
    expect(figure).toMatchObject({ kind: 'readings', stepHours: null });
    expect(beginsOf(figure).map((time) => [time, roomAt(time)])).toEqual(
      beginsOf(figure).map((time, i) => [time, figure.mean[i]]),
    );
    expect(figure.begins.length).toBe(6);
    expect(figure.mean).toEqual(figure.max);
  });

  it('by the hour is what the hour records say', async () => {
    const figure = await one(2, 'margin', FROM, NOW, DAYS * 24);
    const { columns } = (await ask(
      `/places/2/hours?from=${new Date(FROM).toISOString()}&to=${new Date(NOW).toISOString()}&columns=margin,marginMin`,
    )) as HourColumns;
    expect(figure).toMatchObject({ kind: 'buckets', stepHours: 1 });
    expect(figure.mean).toEqual(columns.margin);
    expect(figure.min).toEqual(columns.marginMin);
  });

  it('gathers two days to what their readings were, from and to local midnight', async () => {
    const figure = await one(1, 'humidity', FROM, NOW, 30);
    expect(figure.stepHours).toBe(48);
    const edges = [...beginsOf(figure), Date.parse(figure.start) + figure.end * 1000];
    for (let i = 0; i < figure.begins.length; i++) {
      const sent: number[] = [];
      for (let time = Math.max(edges[i]!, FROM); time < Math.min(edges[i + 1]!, NOW); time += TEN_MINUTES) {
        if (time < SILENT.from || time >= SILENT.to) sent.push(round(55 + 3 * slow(time)));
      }
      expect(figure.min[i]).toBe(Math.min(...sent));
      expect(figure.max[i]).toBe(Math.max(...sent));
    }
  });

  it('has a gap where nothing was measured, hour by hour and reading by reading', async () => {
    const hours = await one(1, 'temperature', FROM, NOW, DAYS * 24);
    const empty = beginsOf(hours).filter((_, i) => hours.mean[i] === null);
    expect(empty).toEqual([0, 1, 2, 3, 4].map((hour) => SILENT.from + hour * HOUR));
    expect(hours.count.filter((count) => count === 0)).toHaveLength(5);
    const readings = await one(1, 'temperature', SILENT.from - 2 * HOUR, SILENT.to + 2 * HOUR, 100);
    expect(readings.kind).toBe('readings');
    const gaps = beginsOf(readings).filter((_, i) => readings.mean[i] === null);
    expect(gaps).toHaveLength(1);
    expect(gaps[0]! > SILENT.from && gaps[0]! < SILENT.to).toBe(true);
  });

  it('carries what the sensors may be off by, as the latest figures do', async () => {
    const { places } = (await ask('/now')) as { places: { placeId: number; margin: { plusMinus: number } | null }[] };
    const margin = await one(2, 'margin', NOW - HOUR, NOW, 10);
    const latest = places.find(({ placeId }) => placeId === 2)!.margin!;
    // worked out at the means of the hour instead of its last reading: the slopes of the curve differ a little
    expect(Math.abs(margin.plusMinus[0]! / latest.plusMinus - 1)).toBeLessThan(0.02);
    const excess = await one(1, 'vapourExcess', NOW - HOUR, NOW, 10);
    expect(excess.plusMinus[0]).toBeGreaterThan(0);
    const { columns: inside } = (await ask(
      `/places/1/hours?from=${new Date(NOW - HOUR).toISOString()}&to=${new Date(NOW).toISOString()}&columns=vapourPressure`,
    )) as HourColumns;
    const { columns: outside } = (await ask(
      `/places/3/hours?from=${new Date(NOW - HOUR).toISOString()}&to=${new Date(NOW).toISOString()}&columns=vapourPressure`,
    )) as HourColumns;
    expect(excess.mean[0]).toBeCloseTo(inside.vapourPressure![0]! - outside.vapourPressure![0]!, 9);
  });

  it('says as far as anything is known, and is empty of what is not measured', async () => {
    const { known, figures } = await track(2, 'humidity,timberMoisture', FROM, NOW, 100);
    expect(known).toEqual({ from: new Date(FROM).toISOString(), to: new Date(NOW).toISOString() });
    expect(figures.map(({ figure, begins }) => [figure, begins])).toEqual([
      ['humidity', []],
      ['timberMoisture', []],
    ]);
  });

  it.each([
    ['colour', 100, 'There is no figure colour'],
    ['margin', 1, ''],
    ['margin', 1e6, ''],
  ])('of %s in %d points is refused', async (figures, points, detail) => {
    const response = await fetch(
      `${coomb.address}/api/v1/dwellings/alder/places/1/track?figures=${figures}&points=${points}`,
    );
    expect(response.status).toBe(400);
    expect(((await response.json()) as { detail: string }).detail).toContain(detail);
  });
});
