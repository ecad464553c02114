import type { SensorUncertainty, SharedError } from './assessment.ts';
import { randomStream } from './random.ts';

/** Possible offsets of one place's sensor, an entry per draw: what it reads less what is true. */
export interface SensorDraws {
  readonly before: OffsetDraws;
  readonly after: OffsetDraws;
}

export interface OffsetDraws {
  /** K */
  readonly temperature: Float64Array;
  /** % */
  readonly humidity: Float64Array;
}

/** Whether the same sensor stood at the place in both phases: then its offset is shared, apart from drift. */
export type Continuity = 'same-sensor' | 'another-sensor';

/**
 * Draws offsets of a sensor as its uncertainty allows.
 *
 * @param place name of the stream: the draws of a place do not depend on what other places there are
 */
export function sensorDraws(
  uncertainty: SensorUncertainty,
  continuity: Continuity,
  draws: number,
  seed: number,
  place: string,
): SensorDraws {
  const stream = randomStream(seed, `offsets of ${place}`);
  const column = (): Float64Array => Float64Array.from({ length: draws }, () => stream.normal());
  const [firstTemperature, firstHumidity, driftTemperature, driftHumidity, otherTemperature, otherHumidity] = [
    column(),
    column(),
    column(),
    column(),
    column(),
    column(),
  ];
  const { temperatureDriftK, humidityDriftPct, sharedTemperature, sharedHumidity } = uncertainty;
  const temperatureOffsetK = ownPart(uncertainty.temperatureOffsetK, sharedTemperature);
  const humidityOffsetPct = ownPart(uncertainty.humidityOffsetPct, sharedHumidity);
  const temperatureReference = referenceDraws(sharedTemperature, draws, seed);
  const humidityReference = referenceDraws(sharedHumidity, draws, seed);
  const plus = (column: Float64Array, reference: Float64Array | null): Float64Array =>
    reference === null ? column : column.map((value, k) => value + reference[k]!);
  const later = (first: Float64Array, other: Float64Array, drift: Float64Array, offset: number, change: number) =>
    first.map((value, k) => (continuity === 'same-sensor' ? value : other[k]!) * offset + drift[k]! * change);
  return {
    before: {
      temperature: plus(
        firstTemperature!.map((value) => value * temperatureOffsetK),
        temperatureReference,
      ),
      humidity: plus(
        firstHumidity!.map((value) => value * humidityOffsetPct),
        humidityReference,
      ),
    },
    after: {
      temperature: plus(
        later(firstTemperature!, otherTemperature!, driftTemperature!, temperatureOffsetK, temperatureDriftK),
        temperatureReference,
      ),
      humidity: plus(
        later(firstHumidity!, otherHumidity!, driftHumidity!, humidityOffsetPct, humidityDriftPct),
        humidityReference,
      ),
    },
  };
}

const ownPart = (whole: number, shared: SharedError | undefined): number =>
  shared === undefined ? whole : Math.sqrt(Math.max(0, whole ** 2 - shared.uncertainty ** 2));

/** Possible errors of a reference: the same draws wherever that reference was used, so that they cancel in differences. */
function referenceDraws(shared: SharedError | undefined, draws: number, seed: number): Float64Array | null {
  if (shared === undefined) return null;
  const stream = randomStream(seed, `reference: ${shared.source}`);
  return Float64Array.from({ length: draws }, () => stream.normal() * shared.uncertainty);
}
