import { inRange } from './range.ts';

/** Humidity over a saturated salt solution at one temperature. */
export interface SaltPoint {
  /** °C */
  readonly temperature: number;
  /** % */
  readonly humidity: number;
  /** as published for this point, %; read as a limit, not as a standard deviation */
  readonly uncertainty: number;
  readonly status: 'read' | 'from memory';
}

/** 10, 15, 20, 25 and 30 °C: what a home can offer. */
const TEMPERATURES = [10, 15, 20, 25, 30] as const;

type Five = readonly [number, number, number, number, number];

function points(humidity: Five, uncertainty: Five, read: readonly number[]): readonly SaltPoint[] {
  return Object.freeze(
    TEMPERATURES.map((temperature, i) =>
      Object.freeze({
        temperature,
        humidity: humidity[i]!,
        uncertainty: uncertainty[i]!,
        status: read.includes(temperature) ? 'read' : 'from memory',
      } as const),
    ),
  );
}

const FROM_15 = [15, 20, 25, 30];
const NONE: readonly number[] = [];

/**
 * Humidity fixed points of saturated salt solutions. `read` where a transcription of the source's table was read, which
 * its author had checked against a calibrator's handbook; the humidities from memory agree with another published table
 * to 0.1 % up to 25 °C, except magnesium nitrate, which nothing confirms; the uncertainties of the salts from memory are
 * from memory too.
 *
 * @source Greenspan, Journal of Research of the National Bureau of Standards 81A (1977) 89-96, table 2
 */
export const saturatedSalts = Object.freeze({
  'lithium-chloride': points([11.29, 11.3, 11.31, 11.3, 11.28], [0.41, 0.35, 0.31, 0.27, 0.24], NONE),
  'magnesium-chloride': points([33.47, 33.3, 33.07, 32.78, 32.44], [0.24, 0.21, 0.18, 0.16, 0.14], FROM_15),
  'potassium-carbonate': points([43.14, 43.15, 43.16, 43.16, 43.17], [0.39, 0.33, 0.33, 0.39, 0.5], NONE),
  'magnesium-nitrate': points([57.36, 55.87, 54.38, 52.89, 51.4], [0.33, 0.27, 0.23, 0.22, 0.24], NONE),
  'sodium-chloride': points([75.67, 75.61, 75.47, 75.29, 75.09], [0.22, 0.18, 0.14, 0.12, 0.11], FROM_15),
  'potassium-chloride': points([86.77, 85.92, 85.11, 84.34, 83.62], [0.39, 0.33, 0.29, 0.26, 0.25], NONE),
  'potassium-sulphate': points([98.18, 97.89, 97.59, 97.3, 97.0], [0.76, 0.63, 0.53, 0.45, 0.4], NONE),
});

export type SaturatedSalt = keyof typeof saturatedSalts;

/**
 * Humidity over a saturated salt solution, between the published points in a straight line, %. Salt, air and sensor must
 * have this one temperature: a kelvin apart is several per cent.
 *
 * @param temperature °C, 10 to 30
 * @returns the interpolated point; its uncertainty is the larger, its status the weaker of the two beside it
 * @throws RangeError outside that range, or for a salt that is not in the table
 * @source Greenspan (1977)
 */
export function saltHumidity(salt: SaturatedSalt, temperature: number): SaltPoint {
  if (!Object.hasOwn(saturatedSalts, salt)) {
    throw new RangeError(`salt is ${salt}; it must be one of ${Object.keys(saturatedSalts).join(', ')}`);
  }
  inRange('temperature', temperature, '°C', TEMPERATURES[0], TEMPERATURES[4]);
  const row = saturatedSalts[salt];
  const exact = row.find((point) => point.temperature === temperature);
  if (exact) return exact;
  const next = row.findIndex((point) => point.temperature > temperature);
  const below = row[next - 1]!;
  const above = row[next]!;
  const share = (temperature - below.temperature) / (above.temperature - below.temperature);
  return {
    temperature,
    humidity: below.humidity + share * (above.humidity - below.humidity),
    uncertainty: Math.max(below.uncertainty, above.uncertainty),
    status: below.status === 'read' && above.status === 'read' ? 'read' : 'from memory',
  };
}
