import { describe, expect, test } from 'vitest';
import { unventilatedAirResistance } from '../../server/physics/air-layer.ts';
import { type BuildUp, type Layer, transmittance } from '../../server/physics/build-up.ts';
import { type Material, materials } from '../../server/physics/material.ts';

/**
 * Timber-framed wall, Scottish Building Standards Technical Handbook, Annex 6.B, worked example of the combined method.
 * Inputs and the resistances of the two paths are printed there; the limits below follow from them by the printed
 * method (computed by hand and by an independent program), and the final U of 0.29 is from memory.
 */
describe('the worked example of a timber-framed wall (Scottish Building Standards, Annex 6.B)', () => {
  const resisting = (name: string, thickness: number, resistance: number): Material => ({
    ...materials.softwood,
    name,
    conductivity: thickness / resistance,
  });
  const declared = (name: string, resistance: number): Layer => ({ kind: 'declared', name, resistance, sd: 1 });
  const wall: BuildUp = {
    pitch: 90,
    layers: [
      declared('plasterboard', 0.1),
      {
        kind: 'solid',
        name: 'mineral wool',
        thickness: 0.14,
        material: resisting('mineral wool', 0.14, 3.333),
        bridge: { name: 'studs', material: resisting('timber', 0.14, 1.077), share: 0.095 },
      },
      declared('plywood', 0.146),
      declared('cavity', 0.09),
      declared('brick', 0.132),
    ],
  };
  const result = transmittance(wall);

  test('surface resistances are those of a wall', () => {
    expect([result.rsi, result.rse]).toEqual([0.13, 0.04]);
  });

  // Printed to three decimals, so half a unit of the last one is the tolerance. The limits follow from inputs with three
  // decimals; carried through they are good to 0.001 as well.
  const HALF_A_THOUSANDTH = 0.0005;
  test.each([
    ['upper limit, m2K/W', result.upper, 3.5299],
    ['lower limit, m2K/W', result.lower, 3.4178],
    ['total resistance, m2K/W', result.resistance, 3.4739],
    ['U, W/(m2K)', result.uValue, 0.2879],
  ])('%s', (_, ours, published) => {
    expect(Math.abs(ours - published)).toBeLessThan(HALF_A_THOUSANDTH);
  });

  test('the largest relative error is 1.61 %, to the two decimals given', () => {
    expect(Math.abs(result.maximumError - 1.61)).toBeLessThan(0.005);
  });

  test('U rounds to 0.29 W/(m2K), as remembered from the handbook', () => {
    expect(result.uValue.toFixed(2)).toBe('0.29');
  });
});

/**
 * Sloping ceiling under a well-ventilated void, so that Rse = 0.10: 12.5 mm plasterboard (0.25), PIR (0.022), mineral wool
 * (0.040), 10 % timber (0.13). Computed by an independent program, no publication; given to four decimals.
 */
describe('sloping ceilings with and without linings (computed independently)', () => {
  const board: Layer = { kind: 'solid', name: 'plasterboard', thickness: 0.0125, material: materials.plasterboard };
  const foam = (thickness: number): Layer => ({
    kind: 'solid',
    name: 'foam',
    thickness,
    material: { ...materials['rigid-polyurethane'], conductivity: 0.022 },
  });
  const wool: Layer = {
    kind: 'solid',
    name: 'wool',
    thickness: 0.05,
    material: { ...materials['mineral-wool'], conductivity: 0.04 },
    bridge: { name: 'rafters', material: materials.softwood, share: 0.1 },
  };
  const voidAbove: Layer = { kind: 'air', name: 'void', thickness: 0.05, openingMm2: 25_000 };
  const tiles: Layer = { kind: 'solid', name: 'tiles', thickness: 0.02, material: materials['clay-tile'] };
  const cases: readonly [string, readonly Layer[], number, number, number, number][] = [
    ['A board only', [board], 0.25, 4, 0.4, 0.375],
    ['B 50 mm wool between rafters', [board, wool], 1.2952, 0.7721, 1.4533, 0.828],
    ['C as B, lined with 25 mm foam and board', [board, foam(0.025), board, wool], 2.5106, 0.3983, 2.6619, 0.9061],
    ['D as A, lined with 25 mm foam and board', [board, foam(0.025), board], 1.4364, 0.6962, 1.5864, 0.8424],
    ['E as A, lined with 50 mm foam and board', [board, foam(0.05), board], 2.5727, 0.3887, 2.7227, 0.9082],
  ];
  const HALF_A_TEN_THOUSANDTH = 0.00005;

  test.each(cases)('%s', (_, layers, resistance, uValue, resistanceForMould, factor) => {
    const buildUp: BuildUp = { pitch: 40, layers: [...layers, voidAbove, tiles] };
    const usual = transmittance(buildUp);
    const forMould = transmittance(buildUp, 0.25);
    expect([usual.rsi, usual.rse]).toEqual([0.1, 0.1]);
    expect(Math.abs(usual.resistance - resistance)).toBeLessThanOrEqual(HALF_A_TEN_THOUSANDTH);
    expect(Math.abs(usual.uValue - uValue)).toBeLessThanOrEqual(HALF_A_TEN_THOUSANDTH);
    expect(Math.abs(forMould.resistance - resistanceForMould)).toBeLessThanOrEqual(HALF_A_TEN_THOUSANDTH);
    expect(Math.abs(forMould.temperatureFactor - factor)).toBeLessThanOrEqual(HALF_A_TEN_THOUSANDTH);
  });

  test('limits of case B are 1.3200 and 1.2704', () => {
    const { upper, lower } = transmittance({ pitch: 40, layers: [board, wool, voidAbove, tiles] });
    expect(Math.abs(upper - 1.32)).toBeLessThanOrEqual(HALF_A_TEN_THOUSANDTH);
    expect(Math.abs(lower - 1.2704)).toBeLessThanOrEqual(HALF_A_TEN_THOUSANDTH);
  });
});

/** ISO 6946, table of unventilated air layers, from memory; exact because the code interpolates between these rows. */
describe('unventilated air layers (ISO 6946, from memory)', () => {
  const rows: readonly [number, number, number, number][] = [
    [5, 0.11, 0.11, 0.11],
    [10, 0.15, 0.15, 0.15],
    [15, 0.16, 0.17, 0.17],
    [25, 0.16, 0.18, 0.19],
    [50, 0.16, 0.18, 0.21],
    [100, 0.16, 0.18, 0.22],
    [300, 0.16, 0.18, 0.23],
  ];
  test.each(rows)('%d mm', (millimetres, up, horizontal, down) => {
    const resistance = (flow: 'up' | 'horizontal' | 'down') => unventilatedAirResistance(millimetres / 1000, flow);
    expect(resistance('up')).toBeCloseTo(up, 12);
    expect(resistance('horizontal')).toBeCloseTo(horizontal, 12);
    expect(resistance('down')).toBeCloseTo(down, 12);
  });
});

/** ISO 6946, slightly ventilated air layer: RT = (1500 - A)/1000 RT,u + (A - 500)/1000 RT,v, from memory. */
describe('slightly ventilated air layers (ISO 6946, from memory)', () => {
  const inner: Layer = { kind: 'declared', name: 'inner leaf', resistance: 1, sd: 1 };
  const outer: Layer = { kind: 'declared', name: 'outer leaf', resistance: 0.5, sd: 1 };
  const wall = (openingMm2: number): BuildUp => ({
    pitch: 90,
    layers: [inner, { kind: 'air', name: 'cavity', thickness: 0.025, openingMm2 }, outer],
  });
  // Closed: 0.13 + 1 + 0.18 + 0.5 + 0.04 = 1.85. Open: 0.13 + 1 + 0.13 = 1.26.
  test.each([
    [0, 1.85],
    [500, 1.85],
    [750, 0.75 * 1.85 + 0.25 * 1.26],
    [1000, (1.85 + 1.26) / 2],
    [1499.999, 1.26],
    [1500, 1.26],
  ])('openings of %d mm2 a metre', (openingMm2, resistance) => {
    expect(transmittance(wall(openingMm2)).resistance).toBeCloseTo(resistance, 5);
  });
});
