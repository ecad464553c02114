import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CalibrationProposals, CalibrationWire } from '../../server/api/contract/calibrations.ts';
import type { Comparison } from '../../server/api/contract/comparison.ts';
import type { Sensor } from '../../server/api/contract/dwelling.ts';
import type { Now } from '../../server/api/contract/figures.ts';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

const HOUR = 3_600_000;
const EVENING = Date.UTC(2026, 0, 13, 21);
const MORNING = EVENING + 10 * HOUR;
let clock = MORNING;

/** What each sensor reads too high by: temperature in K, humidity in %. */
const offsets: Readonly<Record<string, readonly [temperature: number, humidity: number]>> = {
  slope: [0.2, 1.5],
  room: [-0.1, -1],
  loft: [0.1, 0.5],
  out: [-0.15, 1],
};
const keys = Object.keys(offsets);

let folder: string;
let coomb: Coomb;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-calibrations-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => clock);
  await operate('addDwelling', '', {
    slug: 'larch',
    name: 'Larch Rise',
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
  await operate('addPlace', '/larch/places', { name: 'Bedroom', kind: 'room-air' });
  await operate('addPlace', '/larch/places', { name: 'Slope', kind: 'ceiling-surface' });
  for (const key of keys) await sendNight(key, EVENING, MORNING);
  await place('slope', 2);
  await place('room', 1);
  for (const id of [1, 2, 3, 4]) await operate('changeSensor', `/larch/sensors/${id}`, { model: 'SHT40' });
  await coomb.settled();
});

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

interface Answer<T> {
  readonly status: number;
  readonly body: T;
}

/** Calls an operation under the dwellings and holds the answer to its schema in the contract. */
async function operate<T = { detail: string; errors: { pointer: string }[] }>(
  name: OperationName,
  path: string,
  body?: unknown,
): Promise<Answer<T>> {
  const operation: Operation = operations[name];
  const response = await fetch(`${coomb.address}/api/v1/dwellings${path}`, {
    method: operation.method.toUpperCase(),
    ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'content-type': 'application/json' } }),
  });
  const answer = JSON.parse((await response.text()) || 'null');
  if (response.status < 300 && operation.response !== null) operation.response.parse(answer);
  return { status: response.status, body: answer };
}

const at = (time: number): string => new Date(time).toISOString();

/** 20 °C and 50 %, every ten minutes, with a flicker of a few hundredths that differs from sensor to sensor. */
async function sendNight(key: string, from: number, to: number): Promise<void> {
  const [temperature, humidity] = offsets[key]!;
  const batch = Array.from({ length: (to - from) / 600_000 }, (_, k) => ({
    time: at(from + k * 600_000),
    temperature_c: Number((20 + temperature + 0.01 * (((k * (3 + key.length)) % 5) - 2)).toFixed(2)),
    humidity_pct: Number((50 + humidity + 0.1 * (((k * (2 + key.length)) % 3) - 1)).toFixed(1)),
  }));
  expect((await operate('sendReadings', `/larch/readings/${key}`, batch)).status).toBe(200);
}

async function place(key: string, placeId: number): Promise<void> {
  const id = keys.indexOf(key) + 1;
  await operate('placeSensor', `/larch/sensors/${id}/placements`, { placeId, from: '2026-01-01T00:00:00Z' });
}

const run = { method: 'side-by-side', sensorIds: [1, 2, 3, 4], from: at(EVENING) };
const propose = (change: object = {}) =>
  operate<CalibrationProposals>('proposeCalibrations', '/larch/calibrations/proposals', { ...run, ...change });
const sensorsNow = async () => (await operate<Sensor[]>('listSensors', '/larch/sensors')).body;
const hours = async (placeId: number): Promise<string> => {
  await coomb.settled();
  return JSON.stringify((await operate('getHours', `/larch/places/${placeId}/hours`)).body);
};

describe('a night of all sensors in one box', () => {
  it('tells an uncalibrated sensor’s accuracy by its data sheet, and says so', async () => {
    const [slope] = await sensorsNow();
    expect(slope!.series[0]).toMatchObject({
      quantity: 'temperature',
      accuracy: { source: 'data sheet of SHT40, not calibrated', calibrationId: null },
    });
    // ± 0.2 K read as rectangular and doubled, GUM 4.3.7 and G.6.6
    expect(slope!.series[0]!.accuracy.plusMinus).toBeCloseTo((2 * 0.2) / Math.sqrt(3), 12);
  });

  it('says in the evening how long to wait', async () => {
    const { body } = await propose({ to: at(EVENING + 3 * HOUR) });
    expect(body.series).toHaveLength(8);
    for (const { outcome, trace } of body.series) {
      expect(outcome).toMatchObject({ kind: 'not-yet', reasons: [{ code: 'too-short', hoursLeft: 5 }] });
      expect(trace).toHaveLength(18);
    }
    expect(body.references).toEqual([]);
    expect((await operate('listCalibrations', '/larch/calibrations')).body).toEqual([]);
  });

  it('proposes offsets in the morning, and keeps nothing by it', async () => {
    const { body } = await propose();
    expect(body.references.map(({ quantity, sensorIds }) => [quantity, sensorIds])).toEqual([
      ['temperature', [1, 2, 3, 4]],
      ['humidity', [1, 2, 3, 4]],
    ]);
    for (const { sensorKey, quantity, outcome, steadiness } of body.series) {
      expect(steadiness[0]!.kind).toBe('stable');
      if (outcome?.kind !== 'proposed') throw new Error('nothing proposed');
      // the mean of all reads 0.0125 K and 0.5 % high
      const wanted = quantity === 'temperature' ? 0.0125 - offsets[sensorKey]![0] : 0.5 - offsets[sensorKey]![1];
      // the medians of a sensor, and of the mean, stay within the flicker: 0.02 K and 0.1 % each
      expect(Math.abs(outcome.correction - wanted)).toBeLessThan(quantity === 'temperature' ? 0.04 : 0.2);
    }
    expect((await operate('listCalibrations', '/larch/calibrations')).body).toEqual([]);
  });

  it('is saved, and from then on corrects values, hours and their ± while the readings stay as sent', async () => {
    const before = (await operate<Now>('getNow', '/larch/now')).body.places.find(({ name }) => name === 'Slope')!;
    const { body } = await propose();
    const made = body.series.flatMap(({ sensorId, quantity, outcome }) => {
      if (outcome?.kind !== 'proposed') throw new Error('nothing proposed');
      const { points, uncertainty, sharedSource, sharedUncertainty, madeAt } = outcome;
      return [
        {
          sensorId,
          quantity,
          method: 'side-by-side',
          from: null,
          points,
          uncertainty,
          sharedSource,
          sharedUncertainty,
          madeAt,
        },
      ];
    });
    const saved = await operate<CalibrationWire[]>('addCalibrations', '/larch/calibrations', { calibrations: made });
    expect(saved.status).toBe(201);
    expect(saved.body).toHaveLength(8);
    expect(saved.body[0]).toMatchObject({ state: 'in-force', from: null, to: null, drift: null, note: '' });

    const [slope] = await sensorsNow();
    const series = slope!.series[0]!;
    expect(series.accuracy).toMatchObject({ source: 'calibrated 2026-01-14, side by side' });
    expect(series.accuracy.plusMinus).toBeLessThan((2 * 0.2) / Math.sqrt(3));
    expect(series.last!.asSent - series.last!.value).toBeCloseTo(0.1875, 2);

    await coomb.settled();
    const hour = (await operate<{ columns: { temperature: number[] } }>('getHours', '/larch/places/2/hours')).body;
    for (const value of hour.columns.temperature) expect(Math.abs(value - 20.0125)).toBeLessThan(0.03);
    const after = (await operate<Now>('getNow', '/larch/now')).body.places.find(({ name }) => name === 'Slope')!;
    expect(Math.abs(after.temperature!.value - 20.0125)).toBeLessThan(0.03);
    // the margin is a difference of two sensors corrected against one mean
    expect(after.margin!.plusMinus!).toBeLessThan(before.margin!.plusMinus!);
    const raw = await coomb.store.readings(1, 1, 0, Number.POSITIVE_INFINITY, 10);
    expect(raw[0]!.value).toBeCloseTo(20.18, 9);
  });

  it('is what the comparison of before and after rests on, and one that begins inside a phase is told', async () => {
    const phases = [
      { kind: 'before', name: 'before', from: at(EVENING - HOUR), to: at(EVENING + 5 * HOUR) },
      { kind: 'after', name: 'after', from: at(EVENING + 5 * HOUR), to: null },
    ];
    for (const phase of phases) expect((await operate('addPhase', '/larch/phases', phase)).status).toBe(201);
    const compared = async () =>
      (await operate<Comparison>('getComparison', '/larch/comparison?surface=2')).body.assessment;
    const calm = await compared();
    expect(calm.uncertainties.find(({ place: name }) => name === 'Slope')!.sensor.source).toBe(
      'calibrated 2026-01-14, side by side',
    );
    expect(calm.sufficiency.findings.map(({ code }) => code)).not.toContain('sensor-recalibrated');
    const late = {
      sensorId: 1,
      quantity: 'temperature',
      method: 'ice-point',
      from: at(EVENING + 7 * HOUR),
      points: [{ reading: 0.3, reference: 0 }],
      uncertainty: 0.3,
      madeAt: at(EVENING + 7 * HOUR),
    };
    const [added] = (
      await operate<CalibrationWire[]>('addCalibrations', '/larch/calibrations', { calibrations: [late] })
    ).body;
    const disturbed = await compared();
    expect(disturbed.uncertainties.find(({ place: name }) => name === 'Slope')!.sensor).toMatchObject({
      temperatureOffsetK: 0.3,
      source:
        'temperature calibrated 2026-01-14, ice point (the least sure of 2); humidity calibrated 2026-01-14, side by side',
    });
    const told = disturbed.sufficiency.findings.filter(({ code }) => code === 'sensor-recalibrated');
    expect(told.map(({ phase, place: name }) => [phase, name])).toEqual([['after', 'Slope']]);
    await operate('withdrawCalibration', `/larch/calibrations/${added!.id}/withdrawal`);
  });

  it('a year on shows how far a sensor drifted', async () => {
    clock = MORNING + 365 * 24 * HOUR;
    const drifted = {
      sensorId: 1,
      quantity: 'temperature',
      method: 'reference-instrument',
      from: at(clock - HOUR),
      points: [{ reading: 20.5, reference: 20 }],
      uncertainty: 0.05,
      note: 'borrowed thermometer',
      madeAt: at(clock - HOUR),
    };
    await operate('addCalibrations', '/larch/calibrations', { calibrations: [drifted] });
    const list = (await operate<CalibrationWire[]>('listCalibrations', '/larch/calibrations')).body;
    expect(list[0]).toMatchObject({ state: 'in-force', note: 'borrowed thermometer', correction: -0.5 });
    expect(list[0]!.drift).toMatchObject({ beyondDoubt: true });
    // 0.5 K high, after 0.1875 K
    expect(list[0]!.drift!.change).toBeCloseTo(0.3125, 2);
    expect(list[0]!.drift!.perYear).toBeCloseTo(0.3125, 2);
    const first = list.find(({ sensorId, quantity, id }) => sensorId === 1 && quantity === 'temperature' && id < 9)!;
    expect(first).toMatchObject({ state: 'followed', to: drifted.from });
    clock = MORNING;
    expect((await operate<CalibrationWire[]>('listCalibrations', '/larch/calibrations')).body[0]!.state).toBe(
      'to-come',
    );
  });

  it('withdrawn leaves the hours as they were, byte for byte, and stays on record', async () => {
    const corrected = await hours(2);
    const list = (await operate<CalibrationWire[]>('listCalibrations', '/larch/calibrations')).body;
    const { id } = list.find(
      (one) => one.sensorId === 1 && one.quantity === 'temperature' && one.method !== 'reference-instrument',
    )!;
    const withdrawn = await operate<CalibrationWire>('withdrawCalibration', `/larch/calibrations/${id}/withdrawal`);
    expect(withdrawn.body).toMatchObject({ id, state: 'withdrawn', withdrawnAt: at(clock), drift: null });
    const uncorrected = await hours(2);
    expect(uncorrected).not.toBe(corrected);
    const { sensorId, quantity, method, points, uncertainty, madeAt } = withdrawn.body;
    const again = { sensorId, quantity, method, points, uncertainty, madeAt, from: null };
    await operate('addCalibrations', '/larch/calibrations', { calibrations: [again] });
    expect(await hours(2)).toBe(corrected);
    expect((await operate<unknown[]>('listCalibrations', '/larch/calibrations')).body).toHaveLength(11);
  });
});

describe('other ways to calibrate', () => {
  it('over a salt ask for a solution that is old enough, and say what is in the way', async () => {
    const jar = { salt: 'sodium-chloride', solutionMadeAt: at(EVENING - 10 * HOUR), from: at(EVENING) };
    const { body } = await propose({ method: 'salt', sensorIds: [1], from: undefined, jars: [jar] });
    expect(body.series).toHaveLength(1);
    expect(body.series[0]).toMatchObject({ quantity: 'humidity', sensorKey: 'slope' });
    expect(body.series[0]!.outcome).toMatchObject({
      kind: 'not-yet',
      reasons: [{ code: 'solution-too-young', hoursLeft: 4 }],
    });
    const old = { ...jar, solutionMadeAt: at(EVENING - 30 * HOUR) };
    const inAir = await propose({ method: 'salt', sensorIds: [1], from: undefined, jars: [old] });
    expect(inAir.body.series[0]!.outcome).toMatchObject({ reasons: [{ code: 'too-far-off' }] });
  });

  it('in ice notice that it is none', async () => {
    const { body } = await propose({ method: 'ice-point', sensorIds: [2] });
    expect(body.series[0]!.outcome).toMatchObject({ reasons: [{ code: 'too-far-off' }] });
  });
});

describe('a calibration that makes no sense', () => {
  const good = {
    sensorId: 1,
    quantity: 'temperature',
    method: 'ice-point',
    from: null,
    points: [{ reading: 0.3, reference: 0 }],
    uncertainty: 0.05,
    madeAt: at(EVENING),
  };
  it.each<[string, object, number, RegExp]>([
    ['of a sensor that is not there', { sensorId: 77 }, 400, /Sensor 77 has never sent temperature/],
    ['of a quantity it never sent', { quantity: 'co2' }, 400, /never sent co2/],
    ['made tomorrow', { madeAt: at(MORNING + 24 * HOUR) }, 400, /future/],
    ['without a point', { points: [] }, 400, /points/],
    ['of two points alike', { points: [good.points[0], good.points[0]] }, 400, /line needs two different/],
    ['with no uncertainty', { uncertainty: 0 }, 400, /uncertainty/],
    ['with a field that is none', { colour: 'blue' }, 400, /colour/],
    ['of another method', { method: 'guess' }, 400, /method/],
  ])('%s is refused and nothing is kept', async (_, change, status, detail) => {
    const before = (await operate<unknown[]>('listCalibrations', '/larch/calibrations')).body.length;
    const answer = await operate('addCalibrations', '/larch/calibrations', {
      calibrations: [good, { ...good, ...change }],
    });
    expect(answer.status).toBe(status);
    expect(answer.body.detail).toMatch(detail);
    expect((await operate<unknown[]>('listCalibrations', '/larch/calibrations')).body).toHaveLength(before);
  });

  it.each<[string, object, number, string | undefined]>([
    ['of an unknown sensor', { sensorIds: [1, 99] }, 404, '/sensorIds'],
    ['that ends before it begins', { to: at(EVENING - HOUR) }, 400, '/from'],
    ['that begins in the future', { from: at(MORNING + HOUR) }, 400, '/from'],
    ['of a quarter of a year', { from: at(EVENING - 90 * 24 * HOUR) }, 400, '/to'],
    [
      'over salts half a year apart',
      {
        method: 'salt',
        from: undefined,
        jars: [EVENING, EVENING - 180 * 24 * HOUR].map((from) => ({
          salt: 'sodium-chloride',
          solutionMadeAt: at(from),
          from: at(from),
          to: at(from + HOUR),
        })),
      },
      400,
      '/jars',
    ],
    [
      'over sugar',
      { method: 'salt', jars: [{ salt: 'sugar', solutionMadeAt: at(EVENING), from: at(EVENING) }] },
      400,
      undefined,
    ],
  ])('so does a run %s', async (_, change, status, pointer) => {
    const answer = await operate('proposeCalibrations', '/larch/calibrations/proposals', { ...run, ...change });
    expect(answer.status).toBe(status);
    if (pointer !== undefined) expect(answer.body.errors[0]!.pointer).toBe(pointer);
  });

  it('and one that is not there cannot be withdrawn', async () => {
    const answer = await operate('withdrawCalibration', '/larch/calibrations/999/withdrawal');
    expect(answer.status).toBe(404);
    expect(answer.body.detail).toBe('Dwelling 1 has no calibration 999.');
  });
});
