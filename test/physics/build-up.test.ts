import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { heatFlowThroughPitch, unventilatedAirResistance } from '../../server/physics/air-layer.ts';
import {
  type Bridge,
  type BuildUp,
  boundaryTemperatures,
  type Layer,
  layerSd,
  pathResistance,
  pathsThrough,
  transmittance,
} from '../../server/physics/build-up.ts';
import { materials } from '../../server/physics/material.ts';
import { temperatureFactor } from '../../server/physics/surface.ts';

const solid = (thickness: number, conductivity: number, bridge?: Bridge): Layer => ({
  kind: 'solid',
  name: 'layer',
  thickness,
  material: { ...materials.plasterboard, conductivity },
  ...(bridge ? { bridge } : {}),
});
const rafters = (share: number, line?: string): Bridge => ({
  name: 'rafters',
  material: materials.softwood,
  share,
  ...(line === undefined ? {} : { line }),
});
const ribs = (share: number, line?: string): Bridge => ({ ...rafters(share, line), name: 'ribs' });

const plainLayer = fc
  .tuple(fc.double({ min: 0.001, max: 0.5, noNaN: true }), fc.double({ min: 0.018, max: 3, noNaN: true }))
  .map(([thickness, conductivity]) => solid(thickness, conductivity));
const anyLayer = fc
  .tuple(plainLayer, fc.double({ min: 0, max: 0.4, noNaN: true }), fc.constantFrom(undefined, 'rafters', 'ribs'))
  .map(([layer, share, line]) => ({ ...layer, bridge: rafters(share, line) }) as Layer);
const pitch = fc.double({ min: 0, max: 90, noNaN: true });

describe('a plane element without bridges', () => {
  test('upper and lower limit are one and the same', () => {
    fc.assert(
      fc.property(fc.array(plainLayer, { minLength: 1, maxLength: 6 }), pitch, (layers, slope) => {
        const { upper, lower, maximumError } = transmittance({ layers, pitch: slope });
        expect(Math.abs(upper - lower) / upper).toBeLessThan(1e-12);
        expect(Math.abs(maximumError)).toBeLessThan(1e-9);
      }),
    );
  });

  test('f from U equals f from the surface temperature, whichever surface resistance is taken', () => {
    fc.assert(
      fc.property(
        fc.array(plainLayer, { minLength: 1, maxLength: 6 }),
        pitch,
        fc.constantFrom(0.1, 0.13, 0.25),
        fc.double({ min: 10, max: 30, noNaN: true }),
        fc.double({ min: -25, max: 5, noNaN: true }),
        (layers, slope, rsi, room, outdoor) => {
          const buildUp: BuildUp = { layers, pitch: slope };
          const [path] = pathsThrough(buildUp, rsi);
          const surface = boundaryTemperatures(path!, room, outdoor)[0]!;
          const fromTemperatures = temperatureFactor(surface, room, outdoor)!;
          expect(fromTemperatures).toBeCloseTo(transmittance(buildUp, rsi).temperatureFactor, 10);
        },
      ),
    );
  });

  test('U does not depend on the order of its layers', () => {
    fc.assert(
      fc.property(fc.array(plainLayer, { minLength: 2, maxLength: 6 }), (layers) => {
        const forwards = transmittance({ layers, pitch: 45 }).uValue;
        const backwards = transmittance({ layers: [...layers].reverse(), pitch: 45 }).uValue;
        expect(backwards).toBeCloseTo(forwards, 12);
      }),
    );
  });

  test('temperatures fall from room to outdoors through every boundary', () => {
    fc.assert(
      fc.property(fc.array(plainLayer, { minLength: 1, maxLength: 6 }), (layers) => {
        const [path] = pathsThrough({ layers, pitch: 45 });
        const temperatures = [20, ...boundaryTemperatures(path!, 20, -5), -5];
        for (let index = 1; index < temperatures.length; index += 1) {
          expect(temperatures[index]!).toBeLessThan(temperatures[index - 1]!);
        }
      }),
    );
  });
});

describe('a build-up with bridges', () => {
  test('the upper limit is never below the lower one, and the true resistance lies in between', () => {
    fc.assert(
      fc.property(fc.array(anyLayer, { minLength: 1, maxLength: 5 }), pitch, (layers, slope) => {
        const { upper, lower, resistance } = transmittance({ layers, pitch: slope });
        expect(upper).toBeGreaterThanOrEqual(lower * (1 - 1e-12));
        expect(resistance).toBeGreaterThanOrEqual(lower * (1 - 1e-12));
        expect(resistance).toBeLessThanOrEqual(upper * (1 + 1e-12));
      }),
    );
  });

  test('the shares of all paths add up to the whole area, and the upper limit is their parallel sum', () => {
    fc.assert(
      fc.property(fc.array(anyLayer, { minLength: 1, maxLength: 5 }), pitch, (layers, slope) => {
        const buildUp: BuildUp = { layers, pitch: slope };
        const paths = pathsThrough(buildUp);
        expect(paths.reduce((sum, path) => sum + path.share, 0)).toBeCloseTo(1, 12);
        const parallel = 1 / paths.reduce((sum, path) => sum + path.share / pathResistance(path), 0);
        expect(parallel).toBeCloseTo(transmittance(buildUp).upper, 10);
      }),
    );
  });

  test('another layer never makes it conduct more heat', () => {
    fc.assert(
      fc.property(fc.array(anyLayer, { minLength: 1, maxLength: 4 }), anyLayer, (layers, lining) => {
        const before = transmittance({ layers, pitch: 40 }).uValue;
        expect(transmittance({ layers: [lining, ...layers], pitch: 40 }).uValue).toBeLessThan(before);
      }),
    );
  });

  test('ribs across rafters make four paths, ribs along them three, the clear one first', () => {
    const layers = (line: string | undefined): Layer[] => [
      solid(0.07, 0.022, ribs(0.05, line)),
      solid(0.0125, 0.25),
      solid(0.1, 0.04, rafters(0.1, line)),
    ];
    const crossing = pathsThrough({ layers: layers(undefined), pitch: 40 });
    expect(crossing.map(({ through }) => through.join(' and '))).toEqual(['', 'rafters', 'ribs', 'ribs and rafters']);
    expect(crossing.map(({ share }) => share)).toEqual(
      [0.855, 0.095, 0.045, 0.005].map((share) => expect.closeTo(share, 12)),
    );
    const along = pathsThrough({ layers: layers('rafters'), pitch: 40 });
    expect(along.map(({ through }) => through.join(' and '))).toEqual(['', 'rafters', 'rafters and ribs']);
    expect(along.map(({ share }) => share)).toEqual([0.9, 0.05, 0.05].map((share) => expect.closeTo(share, 12)));
  });

  test('one rafter that runs through two layers touching each other is one bridge, not two that cross', () => {
    const layers: Layer[] = [solid(0.05, 0.04, rafters(0.1, 'rafters')), solid(0.05, 0.04, rafters(0.1, 'rafters'))];
    const asOne: Layer[] = [solid(0.1, 0.04, rafters(0.1))];
    expect(pathsThrough({ layers, pitch: 40 })).toHaveLength(2);
    expect(transmittance({ layers, pitch: 40 }).resistance).toBeCloseTo(
      transmittance({ layers: asOne, pitch: 40 }).resistance,
      12,
    );
  });

  test('steel through insulation is beyond the method, and the result says so', () => {
    const steel: Bridge = { name: 'steel', material: materials.steel, share: 0.03 };
    const { notices, upper, lower } = transmittance({
      layers: [solid(0.1, 0.03, steel), solid(0.0125, 0.25)],
      pitch: 40,
    });
    expect(upper / lower).toBeGreaterThan(1.5);
    expect(notices.map(({ code }) => code)).toContain('limits-too-far-apart');
    const { notices: timber } = transmittance({ layers: [solid(0.1, 0.03, rafters(0.1))], pitch: 40 });
    expect(timber).toEqual([]);
  });
});

describe('a well-ventilated void', () => {
  const void_: Layer = { kind: 'air', name: 'void', thickness: 0.05, openingMm2: 25_000 };

  test('what lies beyond it changes nothing', () => {
    const inner = [solid(0.0125, 0.25)];
    const bare = transmittance({ layers: [...inner, void_], pitch: 40 });
    const withRoof = transmittance({ layers: [...inner, void_, solid(0.1, 0.03)], pitch: 40 });
    expect(withRoof.uValue).toBe(bare.uValue);
    expect(withRoof.notices.map(({ code }) => code)).toContain('beyond-the-void-not-counted');
  });

  test('the face that looks into it has the surface resistance of still air: 0.10 under 60° of pitch, 0.13 from there', () => {
    const layers = [solid(0.0125, 0.25), void_];
    expect(transmittance({ layers, pitch: 59.9 }).rse).toBe(0.1);
    expect(transmittance({ layers, pitch: 60 }).rse).toBe(0.13);
    expect(heatFlowThroughPitch(59.9)).toBe('up');
    expect(heatFlowThroughPitch(60)).toBe('horizontal');
  });

  test('a build-up that is nothing but void is refused', () => {
    expect(() => transmittance({ layers: [void_], pitch: 40 })).toThrow(RangeError);
  });
});

test('a slightly ventilated cavity is interpolated in temperatures as it is in U', () => {
  fc.assert(
    fc.property(fc.double({ min: 0, max: 3000, noNaN: true }), fc.constantFrom(30, 90), (openingMm2, slope) => {
      const buildUp: BuildUp = {
        pitch: slope,
        layers: [solid(0.1, 0.1), { kind: 'air', name: 'cavity', thickness: 0.04, openingMm2 }, solid(0.1, 0.8)],
      };
      const [path] = pathsThrough(buildUp);
      expect(pathResistance(path!)).toBeCloseTo(transmittance(buildUp).resistance, 10);
    }),
  );
});

test('a foil facing declared for a layer replaces µ times thickness', () => {
  const foam: Layer = { kind: 'solid', name: 'foam', thickness: 0.07, material: materials['rigid-polyurethane'] };
  expect(layerSd(foam, 'dry')).toBeCloseTo(60 * 0.07, 12);
  expect(layerSd({ ...foam, sd: 100 }, 'dry')).toBe(100);
});

test('an air layer resists more the deeper it is, and never more than the table', () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0, max: 0.3, noNaN: true }),
      fc.double({ min: 0, max: 0.3, noNaN: true }),
      fc.constantFrom('up' as const, 'horizontal' as const, 'down' as const),
      (one, other, flow) => {
        const [thin, thick] = one < other ? [one, other] : [other, one];
        expect(unventilatedAirResistance(thick, flow)).toBeGreaterThanOrEqual(unventilatedAirResistance(thin, flow));
        expect(unventilatedAirResistance(thick, flow)).toBeLessThanOrEqual(0.23);
      },
    ),
  );
});

test.each([
  ['thickness 0', solid(0, 0.2), /thickness of layer is 0 m; it must lie between/],
  ['negative conductivity', solid(0.1, -0.2), /conductivity of plasterboard is -0.2 W/],
  ['thickness not a number', solid(Number.NaN, 0.2), /thickness of layer is NaN m/],
  ['bridges everywhere', solid(0.1, 0.2, rafters(1)), /share of rafters is 1; it must be at least 0 and below 1/],
  [
    'an air layer deep as a room',
    { kind: 'air', name: 'loft', thickness: 1, openingMm2: 0 } as Layer,
    /thickness is 1 m/,
  ],
  [
    'an opening less than none',
    { kind: 'air', name: 'gap', thickness: 0.05, openingMm2: -1 } as Layer,
    /openingMm2 is -1 mm2/,
  ],
])('%s is refused with the name, the value and the range', (_, layer, message) => {
  expect(() => transmittance({ layers: [layer], pitch: 40 })).toThrow(RangeError);
  expect(() => transmittance({ layers: [layer], pitch: 40 })).toThrow(message);
});
