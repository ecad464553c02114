import { describe, expect, it } from 'vitest';
import { type CalibrationProposals, calibrationRun, newCalibrations } from '../../server/api/contract/calibrations.ts';
import type { Sensor } from '../../server/api/contract/dwelling.ts';
import { correctionText, halfWidth } from '../../web/src/calibrating/figures.ts';
import { kept, type Setup, takingPart, toRun, traceLine } from '../../web/src/calibrating/setup.ts';

const plain = (text: string) => text.replaceAll('\u00a0', ' ');

const sensor = (id: number, quantities: readonly ('temperature' | 'humidity')[]) =>
  ({
    id,
    key: `s${id}`,
    name: `S${id}`,
    model: null,
    placements: [],
    series: quantities.map((quantity) => ({
      quantity,
      unit: quantity === 'humidity' ? '%' : '°C',
      intervalSeconds: null,
      last: { time: '2026-01-14T22:10:00.000Z', value: 20, asSent: 20 },
      accuracy: { plusMinus: null, source: '', calibrationId: null },
    })),
  }) as unknown as Sensor;

const sensors = [sensor(1, ['temperature', 'humidity']), sensor(2, ['temperature']), sensor(3, ['humidity'])];
const now = Date.parse('2026-01-15T12:00:00Z');
const setup: Setup = {
  method: 'side-by-side',
  sensorIds: [1, 2],
  referenceSensorId: null,
  from: '2026-01-14T21:00',
  to: '',
  jars: [{ salt: 'sodium-chloride', madeAt: '2026-01-13T20:00', from: '2026-01-14T21:00', to: '2026-01-15T07:00' }],
};

describe('a calibration run being described', () => {
  it('is told in the home’s own time', () => {
    // Winter time of Central Europe is UTC+1.
    const asked = toRun(setup, sensors, 'Europe/Vienna', now);
    expect(asked).toMatchObject({ kind: 'run', run: { from: '2026-01-14T20:00:00.000Z', sensorIds: [1, 2] } });
    if (asked.kind === 'run') expect(calibrationRun.safeParse(asked.run).success).toBe(true);
  });

  it('takes only sensors that measure what is compared', () => {
    expect(takingPart('salt', sensors).map(({ id }) => id)).toEqual([1, 3]);
    expect(takingPart('ice-point', sensors).map(({ id }) => id)).toEqual([1, 2]);
    const asked = toRun({ ...setup, method: 'salt' }, sensors, 'UTC', now);
    expect(asked).toMatchObject({ kind: 'run', run: { method: 'salt', sensorIds: [1] } });
  });

  it('says what is missing', () => {
    const faultOf = (part: Partial<Setup>) => {
      const asked = toRun({ ...setup, ...part }, sensors, 'UTC', now);
      return asked.kind === 'fault' ? asked.fault : null;
    };
    expect(faultOf({ sensorIds: [] })).toBe('no-sensor');
    expect(faultOf({ sensorIds: [1] })).toBe('one-sensor');
    expect(faultOf({ from: '' })).toBe('no-time');
    expect(faultOf({ to: '2026-01-14T20:00' })).toBe('ends-first');
    expect(faultOf({ from: '2026-01-15T12:10' })).toBe('to-come');
    // what a field holds while its year is being typed
    expect(faultOf({ from: '0202-01-14T21:00' })).toBe('too-long');
    expect(faultOf({ referenceSensorId: 3 })).toBe('reference-left-out');
    expect(faultOf({})).toBeNull();
  });
});

describe('what a run comes to', () => {
  const proposed = (sensorId: number): CalibrationProposals['series'][number] => ({
    sensorId,
    sensorKey: `s${sensorId}`,
    sensorName: `S${sensorId}`,
    quantity: 'temperature',
    unit: '°C',
    steadiness: [],
    outcome: {
      kind: 'proposed',
      points: [{ reading: 20.4, reference: 20.1 }],
      correction: -0.3,
      uncertainty: 0.05,
      sharedSource: 'side by side',
      sharedUncertainty: 0.04,
      madeAt: '2026-01-15T06:00:00.000Z',
      repeatability: 0.02,
      doubts: [],
      notices: [],
    },
    trace: [],
  });
  const proposals: CalibrationProposals = {
    time: '2026-01-15T06:00:00.000Z',
    method: 'side-by-side',
    settings: {},
    references: [],
    series: [proposed(1), proposed(2), { ...proposed(3), outcome: { kind: 'not-yet', reasons: [] } }],
  };

  it('is kept but for what was left out and what is not there yet', () => {
    const calibrations = kept(proposals, new Set(['2 temperature']), 'from-the-first', 'one night');
    expect(calibrations.map(({ sensorId }) => sensorId)).toEqual([1]);
    expect(calibrations[0]).toMatchObject({ from: null, sharedSource: 'side by side', note: 'one night' });
    expect(newCalibrations.safeParse({ calibrations }).success).toBe(true);
    expect(kept(proposals, new Set(), 'from-the-comparison', '')[1]).toMatchObject({
      from: '2026-01-15T06:00:00.000Z',
    });
  });

  it('is said with its sign and an interval of about 95 %', () => {
    // GUM 6.3.3: k = 2 for about 95 %
    expect(halfWidth(0.05)).toBe(0.1);
    expect(plain(correctionText(-0.3, 0.05, '°C', 'temperature'))).toBe('−0.30 ± 0.10 K');
    expect(plain(correctionText(1.24, 0.4, '%', 'humidity'))).toBe('+1.2 ± 0.8 %');
    expect(plain(correctionText(0.001, 0.001, '°C', 'temperature'))).toBe('0.00 ± 0.01 K');
  });

  it('is drawn from its first reading to its last, the highest at the top', () => {
    const at = (minute: number, value: number) => ({ time: new Date(minute * 60_000).toISOString(), value });
    expect(traceLine([at(0, 20), at(5, 21), at(10, 20.5)], 100, 40)).toBe('M0.0 40.0L50.0 0.0L100.0 20.0');
    expect(traceLine([at(0, 20)], 100, 40)).toBe('');
    expect(traceLine([at(0, 20), at(10, 20)], 100, 40)).toBe('M0.0 20.0L100.0 20.0');
  });
});
