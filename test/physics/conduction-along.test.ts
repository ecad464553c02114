import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type BuildUp,
  boundaryTemperatures,
  countedBuildUp,
  type Layer,
  pathsThrough,
} from '../../server/physics/build-up.ts';
import { boundaryTemperatureHours } from '../../server/physics/conduction-along.ts';
import { materials } from '../../server/physics/material.ts';

const layer: fc.Arbitrary<Layer> = fc.oneof(
  fc
    .tuple(fc.double({ min: 0.005, max: 0.15, noNaN: true }), fc.constantFrom(...Object.values(materials)))
    .filter(([, { name }]) => name !== 'steel')
    .map(([thickness, material]): Layer => ({ kind: 'solid', name: material.name, thickness, material })),
  fc.double({ min: 0, max: 3, noNaN: true }).map((resistance): Layer => {
    return { kind: 'declared', name: 'declared', resistance: resistance < 0.01 ? 0 : resistance, sd: 1 };
  }),
  fc
    .tuple(fc.double({ min: 0.005, max: 0.3, noNaN: true }), fc.double({ min: 0, max: 1499, noNaN: true }))
    .map(([thickness, openingMm2]): Layer => ({ kind: 'air', name: 'air', thickness, openingMm2 })),
);
const hours = (count: number, value: number): Float64Array => new Float64Array(count).fill(value);

describe('transient temperatures through a build-up', () => {
  test('at rest are the steady ones, at every boundary', () => {
    fc.assert(
      fc.property(fc.array(layer, { minLength: 1, maxLength: 5 }), (layers) => {
        const buildUp: BuildUp = { layers, pitch: 40 };
        const counted = countedBuildUp(buildUp);
        const [path] = pathsThrough(buildUp);
        boundaryTemperatures(path!, 20, -5).forEach((steady, boundary) => {
          const transient = boundaryTemperatureHours(path!, counted.layers, boundary, hours(3, 20), hours(3, -5));
          expect(transient[2]).toBeCloseTo(steady, 6);
        });
      }),
      { numRuns: 60 },
    );
  });

  test('a swing outdoors reaches the room later and weaker through brickwork than through foam of the same resistance', () => {
    const swing = Float64Array.from({ length: 24 * 6 }, (_, hour) => 5 * Math.cos((2 * Math.PI * hour) / 24));
    const peaks = (wall: Layer): { height: number; at: number } => {
      const buildUp: BuildUp = { layers: [wall], pitch: 90 };
      const temperature = boundaryTemperatureHours(
        pathsThrough(buildUp)[0]!,
        buildUp.layers,
        0,
        hours(swing.length, 0),
        swing,
      );
      const lastDay = [...temperature.slice(-24)];
      const height = Math.max(...lastDay);
      return { height, at: lastDay.indexOf(height) };
    };
    const heavy = peaks({ kind: 'solid', name: 'concrete', thickness: 0.27, material: materials.concrete });
    const light = peaks({
      kind: 'solid',
      name: 'foam',
      thickness: 0.0044,
      material: { ...materials['rigid-polyurethane'], conductivity: 0.022 },
    });
    expect(heavy.height).toBeLessThan(light.height / 2);
    expect(heavy.at).toBeGreaterThan(light.at + 4);
  });

  test('a gap is not known, and what follows starts from rest', () => {
    const room = hours(6, 20);
    room[2] = Number.NaN;
    const outdoor = Float64Array.from([-5, -5, -5, 5, 5, 5]);
    const wall: Layer[] = [{ kind: 'solid', name: 'board', thickness: 0.0125, material: materials.plasterboard }];
    const [path] = pathsThrough({ layers: wall, pitch: 40 });
    const temperature = boundaryTemperatureHours(path!, wall, 0, room, outdoor);
    expect([...temperature].map(Number.isNaN)).toEqual([false, false, true, false, false, false]);
    expect(temperature[3]).toBeCloseTo(boundaryTemperatures(path!, 20, 5)[0]!, 9);
  });

  test('a boundary that is none, or columns of different length, are refused', () => {
    const wall: Layer[] = [{ kind: 'solid', name: 'board', thickness: 0.0125, material: materials.plasterboard }];
    const [path] = pathsThrough({ layers: wall, pitch: 40 });
    expect(() => boundaryTemperatureHours(path!, wall, 2, hours(3, 20), hours(3, 0))).toThrow(/boundary is 2; it must/);
    expect(() => boundaryTemperatureHours(path!, wall, 0, hours(3, 20), hours(2, 0))).toThrow(/outdoor has 2 hours/);
  });
});
