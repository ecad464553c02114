import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type ConductionBuildUp,
  type ConductionLayer,
  conduct,
  conductionAtRest,
  conductionMesh,
  heatHeld,
} from '../../server/physics/conduction.ts';

const concrete: ConductionLayer = { thickness: 0.2, conductivity: 1.8, density: 2400, heatCapacity: 1000 };
const plasterboard: ConductionLayer = { thickness: 0.0125, conductivity: 0.25, density: 900, heatCapacity: 1000 };
const mineralWool: ConductionLayer = { thickness: 0.1, conductivity: 0.04, density: 25, heatCapacity: 1030 };
const softwood: ConductionLayer = { thickness: 0.022, conductivity: 0.13, density: 500, heatCapacity: 1600 };
const foam: ConductionLayer = { thickness: 0.07, conductivity: 0.022, density: 32, heatCapacity: 1400 };
const board: ConductionLayer = { thickness: 0.006, conductivity: 0.14, density: 600, heatCapacity: 1700 };

const linedSlope: ConductionBuildUp = {
  layers: [board, foam, plasterboard, mineralWool, softwood],
  internalResistance: 0.1,
  externalResistance: 0.1,
};

const level = (value: number, samples: number): Float64Array => new Float64Array(samples).fill(value);
const tight = { stepTolerance: 1e-9, mostHalvings: 20 };

/** exp(z2) erfc(z) by Simpson's rule on its integral, 2/sqrt(pi) times the integral of exp(-s2 - 2 z s) from 0 on. */
function scaledErfc(z: number): number {
  const pieces = 4000;
  const width = 8 / pieces;
  let sum = 0;
  for (let index = 0; index <= pieces; index += 1) {
    const s = index * width;
    const weight = index === 0 || index === pieces ? 1 : index % 2 === 1 ? 4 : 2;
    sum += weight * Math.exp(-s * s - 2 * z * s);
  }
  return ((2 / Math.sqrt(Math.PI)) * sum * width) / 3;
}

/**
 * Surface and centre of a slab of half thickness L, at 0, whose faces meet air at 1 from time 0 on.
 * @source Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., 3.11; Incropera & DeWitt, 5.5.1
 */
function slabSeries(biot: number, fourier: number): { surface: number; centre: number } {
  let surface = 1;
  let centre = 1;
  for (let term = 0; term < 200; term += 1) {
    let low = term * Math.PI;
    let high = low + Math.PI / 2;
    for (let pass = 0; pass < 80; pass += 1) {
      const root = (low + high) / 2;
      if (root * Math.sin(root) - biot * Math.cos(root) > 0 === (term % 2 === 0)) high = root;
      else low = root;
    }
    const root = (low + high) / 2;
    const share = ((4 * Math.sin(root)) / (2 * root + Math.sin(2 * root))) * Math.exp(-root * root * fourier);
    surface -= share * Math.cos(root);
    centre -= share;
  }
  return { surface, centre };
}

interface Complex {
  readonly re: number;
  readonly im: number;
}
const times = (a: Complex, b: Complex): Complex => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });
const plus = (a: Complex, b: Complex): Complex => ({ re: a.re + b.re, im: a.im + b.im });
const over = (a: Complex, b: Complex): Complex => {
  const size = b.re * b.re + b.im * b.im;
  return times(a, { re: b.re / size, im: -b.im / size });
};

/**
 * Swing of the inner surface temperature for a swing of 1 K of the outdoor air, the room staying even.
 * @source ISO 13786:2017, clause 7: heat transfer matrix of layers, from depth of penetration
 */
function surfaceSwing(buildUp: ConductionBuildUp, period: number): Complex {
  const one: Complex = { re: 1, im: 0 };
  const none: Complex = { re: 0, im: 0 };
  // (temperature, flux) outdoors -> (temperature, flux) in the room: product over layers from outside in
  let matrix: [Complex, Complex, Complex, Complex] = [one, none, none, one];
  const multiply = (z: [Complex, Complex, Complex, Complex]): void => {
    const [a, b, c, d] = matrix;
    matrix = [
      plus(times(z[0], a), times(z[1], c)),
      plus(times(z[0], b), times(z[1], d)),
      plus(times(z[2], a), times(z[3], c)),
      plus(times(z[2], b), times(z[3], d)),
    ];
  };
  multiply([one, { re: -buildUp.externalResistance, im: 0 }, none, one]);
  for (const layer of [...buildUp.layers].reverse()) {
    const { thickness, conductivity, density, heatCapacity } = layer;
    const depth = Math.sqrt((conductivity * period) / (Math.PI * density * heatCapacity));
    const x = thickness / depth;
    const { cosh, sinh, cos, sin } = { cosh: Math.cosh(x), sinh: Math.sinh(x), cos: Math.cos(x), sin: Math.sin(x) };
    const z11: Complex = { re: cosh * cos, im: sinh * sin };
    const k = depth / (2 * conductivity);
    const z12: Complex = { re: -k * (sinh * cos + cosh * sin), im: -k * (cosh * sin - sinh * cos) };
    const m = conductivity / depth;
    const z21: Complex = { re: -m * (sinh * cos - cosh * sin), im: -m * (sinh * cos + cosh * sin) };
    multiply([z11, z12, z21, z11]);
  }
  const [a, b, c, d] = matrix;
  // surface = a + b q and flux into the room = c + d q, q the flux at the outdoor air; and as the room does not swing,
  // surface = Rsi times that flux
  const flux = over(
    plus(a, times({ re: -buildUp.internalResistance, im: 0 }, c)),
    plus(times({ re: buildUp.internalResistance, im: 0 }, d), times({ re: -1, im: 0 }, b)),
  );
  return plus(a, times(b, flux));
}

/**
 * What elements of a given number in each layer do to a wave of wave number k, |k| = sqrt(2) / depth of penetration, as
 * a part of it. A chain of elements dx with half their capacity at each end obeys cosh(k' dx) = 1 + (k dx)2 / 2, so the
 * wave number is short by (k dx)2 / 24 and turns and damps the wave by that times k L; its impedance, dx / (conductivity
 * sinh(k' dx)), is short by (k dx)2 / 8. The parts of the layers are added up.
 */
function dispersion(buildUp: ConductionBuildUp, period: number, elements: readonly number[]): number {
  let sum = 0;
  for (const [index, { thickness, conductivity, density, heatCapacity }] of buildUp.layers.entries()) {
    const depth = Math.sqrt((conductivity * period) / (Math.PI * density * heatCapacity));
    const turn = (Math.SQRT2 * thickness) / depth;
    sum += (turn / elements[index]!) ** 2 * (turn / 24 + 1 / 8);
  }
  return sum;
}

/** Swing and lag of the last whole period of a series, by projection on its sine and cosine. */
function swingOf(series: Float64Array, perPeriod: number): Complex {
  let re = 0;
  let im = 0;
  const start = series.length - 1 - perPeriod;
  for (let index = 0; index < perPeriod; index += 1) {
    const angle = (2 * Math.PI * (start + index)) / perPeriod;
    re += series[start + index]! * Math.cos(angle);
    im -= series[start + index]! * Math.sin(angle);
  }
  return { re: (2 * re) / perPeriod, im: (2 * im) / perPeriod };
}

function swingingOutdoors(
  buildUp: ConductionBuildUp,
  period: number,
  perPeriod: number,
  elements?: readonly number[],
): Complex {
  const periods = 12;
  const outdoor = Float64Array.from({ length: periods * perPeriod + 1 }, (_, index) =>
    Math.cos((2 * Math.PI * index) / perPeriod),
  );
  const mesh = conductionMesh(buildUp, elements);
  const series = { room: level(0, outdoor.length), outdoor, interval: period / perPeriod };
  return swingOf(conduct(mesh, series, undefined, tight).boundaries[0]!, perPeriod);
}

describe('a step of the room temperature', () => {
  // 4 m of concrete feel nothing at the far side within a day: depth of diffusion sqrt(a t) is 0.25 m
  test('warms the surface of deep concrete as the closed form of a half-space says', () => {
    const deep = { ...concrete, thickness: 4 };
    const mesh = conductionMesh({ layers: [deep], internalResistance: 0.13, externalResistance: 10 }, [2000]);
    const rest = conductionAtRest(mesh, 0, 0);
    const series = { room: level(10, 25), outdoor: level(0, 25), interval: 3600 };
    const surface = conduct(mesh, series, rest, tight).boundaries[0]!;
    const diffusivity = concrete.conductivity / (concrete.density * concrete.heatCapacity);
    const film = 1 / 0.13;
    for (let hour = 1; hour <= 24; hour += 1) {
      // Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., 2.7 eq. (1), at x = 0
      const z = (film * Math.sqrt(diffusivity * hour * 3600)) / concrete.conductivity;
      const expected = 10 * (1 - scaledErfc(z));
      // 2 mm elements against a depth of 52 mm after the first hour: (dx / depth)2 / 12 of 10 K is about 1 mK
      expect(Math.abs(surface[hour]! - expected), `hour ${hour}`).toBeLessThan(0.002);
    }
  });

  test('on both faces warms a slab as its Fourier series says, surface and middle', () => {
    const half = { ...concrete, thickness: 0.1 };
    const mesh = conductionMesh({ layers: [half, half], internalResistance: 0.13, externalResistance: 0.13 }, [60, 60]);
    const series = { room: level(1, 49), outdoor: level(1, 49), interval: 3600 };
    const { boundaries } = conduct(mesh, series, conductionAtRest(mesh, 0, 0), tight);
    const biot = 0.1 / (0.13 * concrete.conductivity);
    const diffusivity = concrete.conductivity / (concrete.density * concrete.heatCapacity);
    for (let hour = 1; hour <= 48; hour += 1) {
      const exact = slabSeries(biot, (diffusivity * hour * 3600) / 0.01);
      // (1/60)2 / 12 of the half thickness is 2e-5; the first hour's curvature is some ten times that of the slab
      expect(Math.abs(boundaries[0]![hour]! - exact.surface)).toBeLessThan(2e-4);
      expect(Math.abs(boundaries[1]![hour]! - exact.centre)).toBeLessThan(2e-4);
      expect(Math.abs(boundaries[2]![hour]! - exact.surface)).toBeLessThan(2e-4);
    }
  });

  test('the Fourier series used here has the published first term at Bi = 1', () => {
    // Incropera & DeWitt, table 5.1, plane wall, Bi = 1.0: root 0.8603, coefficient 1.1191 (from memory), four figures
    const late = slabSeries(1, 2);
    const root = 0.8603;
    expect((1 - late.centre) / (1.1191 * Math.exp(-2 * root * root))).toBeCloseTo(1, 3);
    expect((1 - late.surface) / (1 - late.centre)).toBeCloseTo(Math.cos(root), 4);
  });
});

describe('a daily swing outdoors', () => {
  const cases: [string, ConductionBuildUp][] = [
    ['200 mm of concrete', { layers: [concrete], internalResistance: 0.13, externalResistance: 0.04 }],
    ['a lined sloping ceiling of five layers', linedSlope],
    [
      'an unlined sloping ceiling',
      {
        layers: [plasterboard, { ...mineralWool, thickness: 0.02 }, softwood],
        internalResistance: 0.1,
        externalResistance: 0.1,
      },
    ],
  ];
  for (const [name, buildUp] of cases) {
    const byDefault = conductionMesh(buildUp).boundaryNodes;
    const meshes: [string, number[]][] = [
      ['24 elements a layer', buildUp.layers.map(() => 24)],
      ['the elements chosen by default', buildUp.layers.map((_, index) => byDefault[index + 1]! - byDefault[index]!)],
    ];
    test.each(meshes)(
      `reaches the inner surface of ${name} with the decrement and the lag of the transfer matrix, %s`,
      (_, elements) => {
        const exact = surfaceSwing(buildUp, 86_400);
        const swing = swingingOutdoors(buildUp, 86_400, 288, elements);
        // straight lines between 288 samples leave (sin x / x)2 of a swing, x = pi / 288
        const bound = dispersion(buildUp, 86_400, elements) + 1 - (Math.sin(Math.PI / 288) / (Math.PI / 288)) ** 2;
        expect(bound).toBeLessThan(0.02);
        expect(Math.hypot(swing.re - exact.re, swing.im - exact.im)).toBeLessThan(
          bound * Math.hypot(exact.re, exact.im),
        );
      },
    );
  }

  test('the error falls with the square of the element size', () => {
    const buildUp: ConductionBuildUp = {
      layers: [concrete, mineralWool, concrete],
      internalResistance: 0.13,
      externalResistance: 0.04,
    };
    const perPeriod = 2880;
    const period = 86_400;
    const exact = surfaceSwing(buildUp, period);
    // what straight lines between samples leave of a cosine: (sin x / x)2, x = pi / samples in a period
    const x = Math.PI / perPeriod;
    const kept = (Math.sin(x) / x) ** 2;
    const errors = [2, 4, 8, 16].map((count) => {
      const swing = swingingOutdoors(buildUp, period, perPeriod, [count, count, count]);
      return Math.hypot(swing.re - kept * exact.re, swing.im - kept * exact.im);
    });
    for (let index = 1; index < errors.length; index += 1) {
      const order = Math.log2(errors[index - 1]! / errors[index]!);
      // two by theory; the next term of the expansion still shows on the coarsest pair
      expect(order).toBeGreaterThan(1.85);
      expect(order).toBeLessThan(2.3);
    }
    expect(Math.log2(errors[2]! / errors[3]!)).toBeCloseTo(2, 1);
  });
});

/** Hours of weather and heating by a fixed formula, rough enough to move the step size. */
const hours = (count: number): { room: Float64Array; outdoor: Float64Array; interval: number } => ({
  room: Float64Array.from({ length: count }, (_, hour) => 18 + (hour % 24 > 6 && hour % 24 < 22 ? 2 : 0)),
  outdoor: Float64Array.from(
    { length: count },
    (_, hour) => 6 + 5 * Math.sin(hour / 1400) + 4 * Math.sin((hour - 8) / 3.82) + ((hour * 7919) % 13) / 6,
  ),
  interval: 3600,
});

describe('what must hold for any build-up', () => {
  test('heat in less heat out is the heat stored, to round-off', () => {
    const mesh = conductionMesh(linedSlope);
    const series = hours(2000);
    const start = conductionAtRest(mesh, 20, -5);
    const result = conduct(mesh, series, start);
    let net = 0;
    let turned = 0;
    for (let hour = 0; hour < 2000; hour += 1) {
      net += result.heatIn[hour]! - result.heatOut[hour]!;
      turned += Math.abs(result.heatIn[hour]!) + Math.abs(result.heatOut[hour]!);
    }
    const stored = heatHeld(mesh, result.state) - heatHeld(mesh, start);
    // some 1e4 steps of 1e-16 relative each
    expect(Math.abs(net - stored)).toBeLessThan(1e-11 * turned);
    expect(turned).toBeGreaterThan(1e6);
  });

  test('a build-up at rest between even temperatures stays there, and lies where resistances put it', () => {
    const mesh = conductionMesh(linedSlope);
    const series = { room: level(20, 500), outdoor: level(-5, 500), interval: 3600 };
    const rest = conductionAtRest(mesh, 20, -5);
    const kept = conduct(mesh, series, rest);
    const reached = conduct(mesh, series, conductionAtRest(mesh, 5, 5));
    const resistances = linedSlope.layers.map((layer) => layer.thickness / layer.conductivity);
    const total = 0.1 + 0.1 + resistances.reduce((sum, one) => sum + one, 0);
    let passed = 0.1;
    for (let boundary = 0; boundary <= 5; boundary += 1) {
      const expected = 20 - (25 * passed) / total;
      passed += resistances[boundary] ?? 0;
      // round-off of some ten operations on 25 K
      expect(Math.abs(kept.boundaries[boundary]![499]! - expected)).toBeLessThan(1e-11);
      expect(Math.abs(reached.boundaries[boundary]![499]! - expected)).toBeLessThan(1e-6);
    }
    expect(kept.heatIn[499]! / 3600).toBeCloseTo(25 / total, 9);
  });

  test('a run taken up again equals one without a break, to the last bit', () => {
    const mesh = conductionMesh(linedSlope);
    const series = hours(400);
    const whole = conduct(mesh, series);
    const first = conduct(mesh, { ...series, room: series.room.slice(0, 151), outdoor: series.outdoor.slice(0, 151) });
    const second = conduct(
      mesh,
      { ...series, room: series.room.slice(150), outdoor: series.outdoor.slice(150) },
      first.state,
    );
    expect(Array.from(second.boundaries[2]!)).toEqual(Array.from(whole.boundaries[2]!.slice(150)));
    expect(second.state).toEqual(whole.state);
  });

  test('a surface never leaves the span of the temperatures that drive it', () => {
    const layer = fc.record({
      thickness: fc.double({ min: 0.002, max: 0.3, noNaN: true }),
      conductivity: fc.double({ min: 0.02, max: 3, noNaN: true }),
      density: fc.double({ min: 1, max: 2500, noNaN: true }),
      heatCapacity: fc.double({ min: 800, max: 2000, noNaN: true }),
    });
    const resistance = fc.double({ min: 0.04, max: 0.3, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(layer, { minLength: 1, maxLength: 4 }),
        resistance,
        resistance,
        fc.array(fc.tuple(fc.integer({ min: -20, max: 30 }), fc.integer({ min: -20, max: 30 })), {
          minLength: 2,
          maxLength: 40,
        }),
        (layers, internalResistance, externalResistance, airs) => {
          const mesh = conductionMesh({ layers, internalResistance, externalResistance });
          const room = Float64Array.from(airs, ([inside]) => inside);
          const outdoor = Float64Array.from(airs, ([, outside]) => outside);
          const low = Math.min(...room, ...outdoor);
          const high = Math.max(...room, ...outdoor);
          const { boundaries } = conduct(mesh, { room, outdoor, interval: 3600 });
          for (const boundary of boundaries) {
            for (const temperature of boundary) {
              // each step may be wrong by the stated tolerance of 1 mK; errors die away within some steps
              expect(temperature).toBeGreaterThan(low - 0.01);
              expect(temperature).toBeLessThan(high + 0.01);
            }
          }
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe('what cannot be calculated', () => {
  const mesh = conductionMesh(linedSlope);
  const series = { room: level(20, 3), outdoor: level(0, 3), interval: 3600 };
  test('a gap in a series names the sample', () => {
    const outdoor = Float64Array.of(0, Number.NaN, 0);
    expect(() => conduct(mesh, { ...series, outdoor })).toThrow(/outdoor\[1\] is NaN/);
  });
  test('series of different length are refused', () => {
    expect(() => conduct(mesh, { ...series, outdoor: level(0, 4) })).toThrow(RangeError);
  });
  test('a state of another build-up is refused', () => {
    const other = conductionMesh({ ...linedSlope, layers: [concrete] });
    expect(() => conduct(mesh, series, conductionAtRest(other, 20, 0))).toThrow(/state\.temperatures\.length/);
  });
  test('a state that is not a number is refused', () => {
    const temperatures = new Float64Array(mesh.capacity.length).fill(Number.NaN);
    expect(() => conduct(mesh, series, { temperatures, halvings: 0 })).toThrow(/state\.temperatures\[0\]/);
  });
  test.each([
    ['thickness', 0],
    ['conductivity', Number.NaN],
    ['density', -1],
    ['heatCapacity', Number.POSITIVE_INFINITY],
  ])('a layer with %s of %d is refused by name', (property, value) => {
    const layers = [board, { ...foam, [property]: value }];
    expect(() => conductionMesh({ ...linedSlope, layers })).toThrow(`layers[1].${property}`);
  });
  test('no layers are refused', () => {
    expect(() => conductionMesh({ ...linedSlope, layers: [] })).toThrow(RangeError);
  });
});
