import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { healthSettings } from '../../server/analysis/health/settings.ts';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { dwellingCalled } from '../store/contract/given.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const NOW = Date.UTC(2026, 0, 14, 22, 5);
const DAYS = 8;

let folder: string;
let coomb: Coomb;
let now = NOW;

// biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
async function get(name: OperationName, path: string): Promise<any> {
  const answer = await fetch(`${coomb.address}/api/v1/dwellings/fold${path}`);
  expect(answer.status).toBe(200);
  const operation: Operation = operations[name];
  return operation.response!.parse(await answer.json());
}

/** Eight days of a room, its slope and outdoors, every 20 minutes; outdoors repeats one reading for the last 20 hours. */
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-findings-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => now);
  const { store } = coomb;
  const { id } = await store.addDwelling(dwellingCalled('fold'));
  for (const [key, kind] of [
    ['room', 'room-air'],
    ['slope', 'ceiling-surface'],
    ['out', 'outdoor-air'],
  ] as const) {
    const place = await store.addPlace({ dwellingId: id, name: key, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(id, key);
    await store.placeSensor(id, sensor.id, place.id, NOW - 30 * 24 * HOUR);
  }
  const readings = Array.from({ length: DAYS * 72 }, (_, k) => NOW - 5 * MINUTE - k * 20 * MINUTE).flatMap(
    (time, k) => {
      const frozen = Math.max(k, 60);
      const one = (sensorKey: string, quantity: 'temperature' | 'humidity', value: number) => ({
        dwellingId: id,
        sensorKey,
        quantity,
        time,
        value,
      });
      return [
        one('room', 'temperature', 19 + Math.sin(k / 12)),
        // wet after the sixth day: 103.5 % where there can be 100
        one('room', 'humidity', k < 100 && k > 90 ? 103.5 : 55 + 5 * Math.sin(k / 30)),
        one('slope', 'temperature', k === 200 ? 85 : 13 + Math.sin(k / 12)),
        one('out', 'temperature', 2 + Math.sin(frozen / 11)),
        one('out', 'humidity', 85 + 5 * Math.sin(frozen / 40)),
      ];
    },
  );
  await store.append({ receivedAt: NOW, readings, quarantined: [] });
  await coomb.settled();
});

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

const codes = (findings: { code: string }[]): string[] => findings.map(({ code }) => code);

describe('what readings say about their sensors', () => {
  it('stands in the view of each sensor, with evidence and what to do', async () => {
    const sensors = await get('listSensors', '/sensors');
    const told = Object.fromEntries(
      sensors.map((sensor: { key: string; health: { findings: { code: string }[] } }) => [
        sensor.key,
        codes(sensor.health.findings),
      ]),
    );
    expect(told).toEqual({ room: ['humidity-wetted'], slope: ['power-on-value'], out: ['flat-lined'] });
    const [flat] = sensors.find(({ key }: { key: string }) => key === 'out').health.findings;
    expect(flat).toMatchObject({ severity: 'warning', effect: { kind: 'not-counted' }, sensorName: 'out' });
    // the last 61 readings, 20 minutes apart
    expect(flat.data).toMatchObject({ readings: 61, hours: 20 });
    expect(Date.parse(flat.to) - Date.parse(flat.from)).toBe(20 * HOUR);
  });

  it('stands beside the figures of a place, at a surface what is said of its room too', async () => {
    const { places } = await get('getNow', '/now');
    const of = (name: string) => places.find((place: { name: string }) => place.name === name);
    expect(codes(of('slope').findings)).toEqual(['humidity-wetted', 'power-on-value']);
    expect(codes(of('out').findings)).toEqual(['flat-lined']);
    // data sheet of a generic sensor ±5 %, and ±3.5 % that its own reading of 103.5 % betrays, both rectangular
    expect(of('room').humidity.plusMinus).toBeCloseTo(2 * Math.sqrt((5 ** 2 + 3.5 ** 2) / 3), 10);
  });

  it('leaves the hours it doubts out, and shows them as a gap', async () => {
    const span = `from=${new Date(NOW - 26 * HOUR).toISOString()}&to=${new Date(NOW - HOUR).toISOString()}`;
    const { columns } = await get('getHours', `/places/3/hours?${span}&columns=temperature,coverage,humidity`);
    const known = columns.temperature.map((value: number | null) => value !== null);
    // 19 whole hours lie inside the repeated 20, and the span asked for ends an hour earlier
    expect(known.indexOf(false)).toBeGreaterThan(3);
    expect(known.lastIndexOf(true)).toBe(known.indexOf(false) - 1);
    expect(columns.coverage.at(-1)).toBe(0);
    expect(columns.humidity.at(-1)).toBeNull();
    const slope = await get('getHours', `/places/2/hours?${span}&columns=temperature,factorOutdoor,margin`);
    expect(slope.columns.temperature.at(-1)).toBeGreaterThan(10);
    expect(slope.columns.factorOutdoor.at(-1)).toBeNull();
    expect(slope.columns.margin.at(-1)).toBeGreaterThan(0);
  });

  it('keeps the power-on value out of the hour’s mean and in the readings', async () => {
    const hour = new Date(Math.floor((NOW - 5 * MINUTE - 200 * 20 * MINUTE) / HOUR) * HOUR);
    const end = new Date(hour.getTime() + HOUR).toISOString();
    const { columns } = await get(
      'getHours',
      `/places/2/hours?from=${hour.toISOString()}&to=${end}&columns=temperature`,
    );
    expect(columns.temperature[0]).toBeLessThan(15);
    const [dwelling] = await coomb.store.dwellings();
    const all = await coomb.store.seriesColumns(dwelling!.id, NOW - 30 * 24 * HOUR, NOW);
    expect(all.some(({ values }) => values.includes(85))).toBe(true);
  });

  it('is listed with the settings of the rules', async () => {
    const listed = await get('listSensorFindings', '/sensor-findings');
    expect(codes(listed.findings).sort()).toEqual(['flat-lined', 'humidity-wetted', 'power-on-value']);
    expect(listed.settings.flatAllMs).toBe(healthSettings.flatAllMs);
    expect(Date.parse(listed.to) - Date.parse(listed.from)).toBe(healthSettings.windowMs);
  });

  it('is worked out anew when time goes on: two days later all are silent', async () => {
    now = NOW + 48 * HOUR;
    const sensors = await get('listSensors', '/sensors');
    for (const { health } of sensors) expect(codes(health.findings)).toContain('silent');
    now = NOW;
  });
});
