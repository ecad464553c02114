import { expect, test } from 'vitest';
import { airChangesFromDecay } from '../../server/physics/air-change-decay.ts';
import { pressureOfConcentration } from '../../server/physics/concentration.ts';
import { moistureProduction } from '../../server/physics/moisture-production.ts';
import { steadyVapourExcess } from '../../server/physics/vapour-balance.ts';
import { filled } from './table.ts';

test('1500 ppm that fall to 800 in an hour and a half over 420 are 0.6964 air changes (independent computation)', () => {
  const n = Math.log((1500 - 420) / (800 - 420)) / 1.5;
  expect(Math.abs(n - 0.6964)).toBeLessThan(0.000051);
  const hours = [0, 0.25, 0.5, 0.75, 1, 1.25, 1.5];
  const decay = airChangesFromDecay(
    hours,
    hours.map((hour) => 420 + 1080 * Math.exp(-n * hour)),
    420,
    { tracer: 'co2', backgroundUncertainty: 0, smallestExcess: 50 },
  );
  if (decay.kind !== 'air-changes') throw new Error('a decay was expected');
  expect(Math.abs(decay.airChanges - 0.6964)).toBeLessThan(0.000051);
  expect(decay.excessAtStart).toBeCloseTo(1080, 6);
});

test('100 g/h in 30 m³ at half an air change make 6.667 g/m³ and 901.9 Pa at 20 °C (independent computation)', () => {
  const excess = steadyVapourExcess(0.1, 0.5, 30);
  expect(Math.abs(1000 * excess - 6.667)).toBeLessThan(0.00051);
  expect(Math.abs(pressureOfConcentration(20, excess) - 901.9)).toBeLessThan(0.051);
});

test('a household of four makes about 12 kg a day (solar-housing handbook), within the range of BS 5250', () => {
  const four = moistureProduction.find((row) => row.id === 'household-of-4')!;
  expect(four.low).toBeLessThanOrEqual(12);
  expect(four.high).toBeGreaterThanOrEqual(12);
});

test('every figure of moisture production has a source and a status, and its range is one', () => {
  for (const row of filled('moisture production', moistureProduction)) {
    expect(row.source).not.toBe('');
    expect(['read', 'from memory']).toContain(row.status);
    expect(row.low).toBeGreaterThan(0);
    expect(row.high).toBeGreaterThanOrEqual(row.low);
  }
});
