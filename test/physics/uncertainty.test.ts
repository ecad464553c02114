import { describe, expect, test } from 'vitest';
import {
  measuredDewPoint,
  measuredMargin,
  measuredSurfaceHumidity,
  measuredTemperatureFactor,
  measuredVapourPressure,
} from '../../server/physics/propagation.ts';
import { dewPoint } from '../../server/physics/saturation.ts';
import { dataSheetError, type SensorChip, sensorAccuracy } from '../../server/physics/sensor-accuracy.ts';
import { dewPointMargin, surfaceHumidity, temperatureFactor } from '../../server/physics/surface.ts';
import { type Measured, measured, standardFromLimit, standardUncertainty } from '../../server/physics/uncertainty.ts';
import { vapourPressure } from '../../server/physics/vapour.ts';
import { normal, seeded } from './seeded.ts';

const DRAWS = 100_000;

interface State {
  T: number;
  RH: number;
  Ts: number;
  Te: number;
}
type Errors = Readonly<Record<keyof State, Readonly<Record<string, number>>>>;

const quantities = {
  'vapour pressure': {
    exact: ({ T, RH }: State) => vapourPressure(T, RH),
    carried: (m: Record<keyof State, Measured>) => measuredVapourPressure(m.T, m.RH),
  },
  'dew point': {
    exact: ({ T, RH }: State) => dewPoint(vapourPressure(T, RH)),
    carried: (m: Record<keyof State, Measured>) => measuredDewPoint(measuredVapourPressure(m.T, m.RH)),
  },
  margin: {
    exact: ({ T, RH, Ts }: State) => dewPointMargin(vapourPressure(T, RH), Ts),
    carried: (m: Record<keyof State, Measured>) => measuredMargin(measuredVapourPressure(m.T, m.RH), m.Ts),
  },
  'surface humidity': {
    exact: ({ T, RH, Ts }: State) => surfaceHumidity(vapourPressure(T, RH), Ts),
    carried: (m: Record<keyof State, Measured>) => measuredSurfaceHumidity(measuredVapourPressure(m.T, m.RH), m.Ts),
  },
  f: {
    exact: ({ T, Ts, Te }: State) => temperatureFactor(Ts, T, Te)!,
    carried: (m: Record<keyof State, Measured>) => measuredTemperatureFactor(m.Ts, m.T, m.Te)!,
  },
};

type Name = keyof typeof quantities;
const names = Object.keys(quantities) as Name[];

/** Standard deviation of each exact equation under errors drawn source by source, shared sources shared. */
function monteCarlo(state: Readonly<State>, errors: Errors, draw: () => number): ReadonlyMap<Name, number> {
  const inputs = Object.keys(errors) as (keyof State)[];
  const sources = [...new Set(inputs.flatMap((input) => Object.keys(errors[input])))];
  const contributions = inputs.map((input) => sources.map((source) => errors[input][source] ?? 0));
  const results = names.map(() => new Float64Array(DRAWS));
  const drawn = new Float64Array(sources.length);
  const erring = { ...state };
  for (let i = 0; i < DRAWS; i += 1) {
    for (let source = 0; source < drawn.length; source += 1) drawn[source] = draw();
    for (let k = 0; k < inputs.length; k += 1) {
      let value = state[inputs[k]!];
      for (let source = 0; source < drawn.length; source += 1) value += contributions[k]![source]! * drawn[source]!;
      erring[inputs[k]!] = value;
    }
    for (let q = 0; q < names.length; q += 1) results[q]![i] = quantities[names[q]!].exact(erring);
  }
  return new Map(names.map((name, q) => [name, standardDeviation(results[q]!)]));
}

function standardDeviation(values: Float64Array): number {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
}

const states: Readonly<Record<string, Readonly<State>>> = {
  'a mild winter room': { T: 20, RH: 50, Ts: 14, Te: 4 },
  'a humid bedroom at night': { T: 17, RH: 72, Ts: 11, Te: -1 },
  'a frosty loft side': { T: 19, RH: 45, Ts: -3, Te: -9 },
};

const independent: Errors = {
  T: { 'room, temperature': 0.17 },
  RH: { 'room, humidity': 1.1 },
  Ts: { 'ceiling, temperature': 0.29 },
  Te: { 'outdoor, temperature': 0.25 },
};
const shared: Errors = {
  T: { 'room, temperature': 0.05, 'ice point': 0.2 },
  RH: { 'room, humidity': 0.6, 'salt run': 0.7 },
  Ts: { 'ceiling, temperature': 0.05, 'ice point': 0.2 },
  Te: { 'outdoor, temperature': 0.05, 'ice point': 0.2 },
};
// The room sensor's own warmth: it reads warm and, being warm, dry. Opposite signs of one source.
const selfHeating: Errors = {
  T: { 'self-heating': 0.25, 'room, temperature': 0.1 },
  RH: { 'self-heating': -0.8, 'room, humidity': 0.6 },
  Ts: { 'ceiling, temperature': 0.2 },
  Te: { 'outdoor, temperature': 0.2 },
};

const carriedErrors = (state: State, errors: Errors): Record<keyof State, Measured> =>
  Object.fromEntries(
    (Object.keys(errors) as (keyof State)[]).map((name) => [
      name,
      measured(
        state[name],
        ...Object.entries(errors[name]).map(([source, contribution]) => ({ source, contribution })),
      ),
    ]),
  ) as Record<keyof State, Measured>;

/**
 * Scatter of a standard deviation of 100 000 draws is 0.22 %; three of those are 0.7 %. The equations bend: the second
 * order adds about half the square of the relative error of the vapour pressure (2.4 %) or of the temperature difference
 * (3 %), under 0.1 %, and, for the vapour pressure of a rectangular error, less. Hence 1 %.
 */
const TOLERANCE = 0.01;

describe.each(Object.entries(states))('first order against Monte Carlo: %s', (_, state) => {
  test.each([
    ['independent sensors', independent],
    ['sensors sharing a calibration', shared],
    ['a sensor that warms itself', selfHeating],
  ] as const)('%s', (_kind, errors) => {
    const drawn = monteCarlo(state, errors, normal(11));
    for (const name of names) {
      const { exact, carried } = quantities[name];
      const propagated = carried(carriedErrors(state, errors));
      expect(propagated.value, name).toBeCloseTo(exact(state), 10);
      expect(Math.abs(standardUncertainty(propagated) / drawn.get(name)! - 1), name).toBeLessThan(TOLERANCE);
    }
  });
});

test('errors within data-sheet limits, all as likely, spread as their limit over √3', () => {
  const uniform = seeded(5);
  const state = states['a mild winter room']!;
  const limits: Errors = { T: { t: 0.2 }, RH: { h: 1.8 }, Ts: { s: 0.5 }, Te: { e: 0.5 } };
  const asStandard = Object.fromEntries(
    Object.entries(limits).map(([name, parts]) => [
      name,
      Object.fromEntries(Object.entries(parts).map(([source, limit]) => [source, standardFromLimit(limit)])),
    ]),
  ) as unknown as Errors;
  const drawn = monteCarlo(state, limits, () => 2 * uniform() - 1);
  for (const name of names) {
    const propagated = standardUncertainty(quantities[name].carried(carriedErrors(state, asStandard)));
    expect(Math.abs(propagated / drawn.get(name)! - 1), name).toBeLessThan(TOLERANCE);
  }
});

describe('sources that are shared', () => {
  const part = (source: string, contribution: number) => ({ source, contribution });

  test('an offset common to all three sensors leaves f alone and moves no difference', () => {
    const f = measuredTemperatureFactor(
      measured(14, part('reference', 0.3)),
      measured(20, part('reference', 0.3)),
      measured(0, part('reference', 0.3)),
    )!;
    expect(standardUncertainty(f)).toBeLessThan(1e-15);
  });

  test('a shared humidity error counts once, not twice', () => {
    const pressure = measuredVapourPressure(measured(20), measured(50, part('salt', 1), part('salt', 1)));
    const once = measuredVapourPressure(measured(20), measured(50, part('salt', 2)));
    expect(standardUncertainty(pressure)).toBeCloseTo(standardUncertainty(once), 12);
  });

  test('a value without parts is exact', () => {
    expect(standardUncertainty(measured(20))).toBe(0);
  });
});

describe('data-sheet accuracy', () => {
  test.each(Object.keys(sensorAccuracy) as SensorChip[])('%s: the limit over √3, by the sensor itself', (chip) => {
    const { temperatureLimit, humidityLimit } = sensorAccuracy[chip];
    expect(dataSheetError(chip, 'temperature', 'loft 1')).toEqual({
      source: 'loft 1, temperature',
      contribution: temperatureLimit / Math.sqrt(3),
    });
    const humidity = dataSheetError(chip, 'humidity', 'loft 1');
    if (humidityLimit === null) expect(humidity).toBeNull();
    else expect(humidity?.contribution).toBeCloseTo(humidityLimit / Math.sqrt(3), 12);
  });

  // Typical limits as data sheets and a trade paper's comparison print them, listed apart from the table under test.
  test.each([
    ['SHT31', 0.3, 2],
    ['SHT40', 0.2, 1.8],
    ['SHT45', 0.1, 1],
    ['BME280', 1, 3],
    ['DS18B20', 0.5, null],
    ['AHT20', 0.3, 2],
  ] as const)('%s: ± %d K, ± %s %%', (chip, temperatureLimit, humidityLimit) => {
    expect(sensorAccuracy[chip]).toMatchObject({ temperatureLimit, humidityLimit });
  });
});

test('a value that is no number is refused', () => {
  expect(() => measured(Number.NaN)).toThrow(RangeError);
  expect(() => measured(1, { source: 'x', contribution: Number.POSITIVE_INFINITY })).toThrow(/contribution of x/);
  expect(() => standardFromLimit(-1)).toThrow(/limit is -1;/);
});
