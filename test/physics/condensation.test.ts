import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type ClimateMonth,
  condensationYear,
  diffusionLimits,
  dryingOf,
} from '../../server/physics/condensation-year.ts';
import {
  type DiffusionLayer,
  diffusionPath,
  MOST_RESISTANCE_OF_A_PART,
  vapourProfile,
} from '../../server/physics/diffusion.ts';
import { saturationPressure } from '../../server/physics/saturation.ts';

const layer = fc.record({
  name: fc.constantFrom('board', 'wool', 'timber', 'felt'),
  resistance: fc.double({ min: 0, max: 3, noNaN: true }),
  sd: fc.double({ min: 0.01, max: 50, noNaN: true }),
});
const layers = fc.array(layer, { minLength: 1, maxLength: 5 });
const air = fc
  .record({
    roomTemperature: fc.double({ min: 10, max: 28, noNaN: true }),
    outdoorTemperature: fc.double({ min: -20, max: 35, noNaN: true }),
    roomHumidity: fc.double({ min: 20, max: 100, noNaN: true }),
    outdoorHumidity: fc.double({ min: 20, max: 100, noNaN: true }),
  })
  .map(({ roomTemperature, outdoorTemperature, roomHumidity, outdoorHumidity }) => ({
    roomTemperature,
    outdoorTemperature,
    roomVapourPressure: (roomHumidity / 100) * saturationPressure(roomTemperature),
    outdoorVapourPressure: (outdoorHumidity / 100) * saturationPressure(outdoorTemperature),
  }));
const year = fc
  .array(air, { minLength: 12, maxLength: 12 })
  .map((months): ClimateMonth[] => months.map((month, index) => ({ ...month, name: `month ${index + 1}`, days: 30 })));

describe('vapour pressure through a build-up', () => {
  test('is nowhere above saturation', () => {
    fc.assert(
      fc.property(layers, air, (build, states) => {
        const { pressures, saturation } = vapourProfile(diffusionPath(build, 0.1, 0.04), states);
        pressures.forEach((pressure, node) => {
          expect(pressure).toBeLessThanOrEqual(saturation[node]! * (1 + 1e-9));
        });
      }),
    );
  });

  test('what enters less what leaves is what settles', () => {
    fc.assert(
      fc.property(layers, air, (build, states) => {
        const { planes, inflow, outflow } = vapourProfile(diffusionPath(build, 0.1, 0.04), states);
        const settled = planes.reduce((sum, plane) => sum + plane.inflow - plane.outflow, 0);
        const scale = Math.abs(inflow) + Math.abs(outflow) + 1e-15;
        expect(Math.abs(inflow - outflow - settled) / scale).toBeLessThan(1e-9);
        for (const plane of planes) expect(plane.inflow - plane.outflow).toBeGreaterThan(-1e-20);
      }),
    );
  });

  test('is a straight line over vapour resistance where nothing settles', () => {
    const path = diffusionPath(
      [
        { name: 'foil', resistance: 0.01, sd: 100 },
        { name: 'wool', resistance: 2, sd: 0.1 },
      ],
      0.1,
      0.04,
    );
    const { pressures, planes } = vapourProfile(path, {
      roomTemperature: 20,
      outdoorTemperature: 0,
      roomVapourPressure: 1200,
      outdoorVapourPressure: 400,
    });
    expect(planes).toEqual([]);
    path.nodes.forEach((node, index) => {
      expect(pressures[index]).toBeCloseTo(1200 - (800 * node.sd) / path.sd, 9);
    });
  });

  test('a thick layer is cut into equal parts of at most 0.25 m2K/W', () => {
    fc.assert(
      fc.property(layers, (build) => {
        const { nodes } = diffusionPath(build, 0.1, 0.04);
        for (let node = 1; node < nodes.length; node += 1) {
          const part = nodes[node]!.resistance - nodes[node - 1]!.resistance;
          expect(part).toBeLessThanOrEqual(MOST_RESISTANCE_OF_A_PART * (1 + 1e-6));
        }
      }),
    );
    const wool = diffusionPath([{ name: 'wool', resistance: 1.25, sd: 0.05 }], 0.1, 0.04);
    expect(wool.nodes.map(({ name }) => name)).toEqual([
      'room-side surface',
      ...Array(4).fill('within wool'),
      'outer surface',
    ]);
  });

  test('room air beyond saturation at the surface is told apart from water inside', () => {
    const path = diffusionPath([{ name: 'board', resistance: 0.05, sd: 0.1 }], 0.1, 0.04);
    const { wetSurfaces } = vapourProfile(path, {
      roomTemperature: 20,
      outdoorTemperature: -10,
      roomVapourPressure: 2000,
      outdoorVapourPressure: 200,
    });
    expect(wetSurfaces).toEqual(['room']);
  });
});

describe('a year of condensation and drying', () => {
  test('what enters less what leaves is the change of what is held, month by month', () => {
    fc.assert(
      fc.property(layers, year, (build, climate) => {
        const { months } = condensationYear(diffusionPath(build, 0.1, 0.04), climate);
        let before = 0;
        for (const { entered, left, held, planes } of months) {
          const scale = Math.abs(entered) + Math.abs(left) + before + held + 1e-12;
          expect(Math.abs(entered - left - (held - before)) / scale).toBeLessThan(1e-8);
          for (const plane of planes) expect(plane.held).toBeGreaterThanOrEqual(0);
          before = held;
        }
      }),
      { numRuns: 200 },
    );
  });

  const roof: DiffusionLayer[] = [
    { name: 'board', resistance: 0.05, sd: 0.125 },
    { name: 'wool', resistance: 2.5, sd: 0.1 },
    { name: 'sarking', resistance: 0.14, sd: 0.9 },
  ];
  const month = (name: string, outdoor: number, room: number): ClimateMonth => ({
    name,
    days: 30,
    roomTemperature: 20,
    outdoorTemperature: outdoor,
    roomVapourPressure: room,
    outdoorVapourPressure: 0.8 * saturationPressure(outdoor),
  });
  const seasons = (winterRoom: number, summerRoom: number): ClimateMonth[] =>
    [2, 3, 6, 9, 13, 16, 18, 18, 15, 11, 7, 3].map((outdoor, index) =>
      month(`month ${index + 1}`, outdoor, outdoor < 10 ? winterRoom : summerRoom),
    );

  test('a dry room gives no condensation', () => {
    const result = condensationYear(diffusionPath(roof, 0.1, 0.04), seasons(650, 1000));
    expect(result.kind).toBe('no-condensation');
  });

  test('water of one winter that dries in spring: peak, month of the peak, month of drying', () => {
    const result = condensationYear(diffusionPath(roof, 0.1, 0.04), seasons(900, 1000));
    if (result.kind !== 'dries-within-the-year') throw new Error(`it ${result.kind}`);
    expect(result.months[0]!.planes.length).toBeGreaterThan(0);
    expect(result.months.find(({ name }) => name === result.peakMonth)!.held).toBe(result.peak);
    expect(result.months.find(({ name }) => name === result.dryAgain)!.held).toBe(0);
    expect(result.months.at(-1)!.held).toBe(0);
  });

  test('a wet room all year accumulates', () => {
    const result = condensationYear(diffusionPath(roof, 0.1, 0.04), seasons(1500, 1900));
    expect(result.kind).toBe('accumulates');
    if (result.kind === 'accumulates') expect(result.remaining).toBeCloseTo(result.months.at(-1)!.held, 12);
  });

  test('the year starts in the first wet month wherever the list starts', () => {
    const climate = seasons(900, 1000);
    const path = diffusionPath(roof, 0.1, 0.04);
    const first = condensationYear(path, climate);
    for (let turn = 1; turn < 12; turn += 1) {
      const turned = condensationYear(path, [...climate.slice(turn), ...climate.slice(0, turn)]);
      expect(turned.months.map(({ name }) => name)).toEqual(first.months.map(({ name }) => name));
      expect(turned.months.at(-1)!.held).toBeCloseTo(first.months.at(-1)!.held, 12);
    }
  });

  test('a dry spell between two planes: each is held and dried on its own', () => {
    const twoPlanes: DiffusionLayer[] = [
      { name: 'board', resistance: 0.05, sd: 0.1 },
      { name: 'wool', resistance: 2, sd: 0.05 },
      { name: 'felt', resistance: 0.004, sd: 1 },
      { name: 'more wool', resistance: 1, sd: 0.05 },
      { name: 'outer felt', resistance: 0.004, sd: 5 },
    ];
    const { months } = condensationYear(diffusionPath(twoPlanes, 0.1, 0.04), seasons(1300, 1100));
    const names = new Set(months.flatMap(({ planes }) => planes.map(({ name }) => name)));
    expect([...names].sort()).toEqual(['more wool | outer felt', 'wool | felt']);
  });

  test('the limits of the method stand on every result', () => {
    for (const climate of [seasons(650, 1000), seasons(900, 1000), seasons(1500, 1900)]) {
      expect(condensationYear(diffusionPath(roof, 0.1, 0.04), climate).limits).toBe(diffusionLimits);
    }
    expect(diffusionLimits.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['no-air-leakage', 'no-storage', 'no-liquid-flow', 'no-wetting']),
    );
  });

  test('a year has twelve months', () => {
    expect(() => condensationYear(diffusionPath(roof, 0.1, 0.04), seasons(900, 1000).slice(1))).toThrow(
      /climate has 11 months; it must have 12/,
    );
  });

  test('a wetting dries sooner behind an open lining than behind foil', () => {
    const behind = (sd: number) => {
      const path = diffusionPath([{ name: 'lining', resistance: 2, sd }, ...roof], 0.1, 0.04);
      const node = path.nodes.findIndex(({ name }) => name === 'lining | board');
      return dryingOf(path, seasons(900, 1000), { node, amount: 0.1, start: 3, mostYears: 10 });
    };
    const open = behind(0.5);
    const foil = behind(100);
    if (open.kind !== 'dries' || foil.kind !== 'dries') throw new Error('both dry within ten years');
    expect(open.days).toBeLessThan(foil.days);
  });

  test('a wetting between two foils is there after ten years', () => {
    const path = diffusionPath(
      [
        { name: 'foil', resistance: 0, sd: 1500 },
        { name: 'wool', resistance: 1, sd: 0.1 },
        { name: 'outer foil', resistance: 0, sd: 1500 },
      ],
      0.1,
      0.04,
    );
    const result = dryingOf(path, seasons(900, 1000), { node: 1, amount: 1, start: 0, mostYears: 10 });
    expect(result.kind).toBe('not-dry-in-time');
  });
});

test('a layer that resists heat and lets vapour through without resistance is refused with advice', () => {
  expect(() => diffusionPath([{ name: 'wool', resistance: 1, sd: 0 }], 0.1, 0.04)).toThrow(/sd of wool is 0 m/);
});
