import type { SensorUncertainty } from './assessment.ts';
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
  const { temperatureOffsetK, humidityOffsetPct, temperatureDriftK, humidityDriftPct } = uncertainty;
  const later = (first: Float64Array, other: Float64Array, drift: Float64Array, offset: number, change: number) =>
    first.map((value, k) => (continuity === 'same-sensor' ? value : other[k]!) * offset + drift[k]! * change);
  return {
    before: {
      temperature: firstTemperature!.map((value) => value * temperatureOffsetK),
      humidity: firstHumidity!.map((value) => value * humidityOffsetPct),
    },
    after: {
      temperature: later(
        firstTemperature!,
        otherTemperature!,
        driftTemperature!,
        temperatureOffsetK,
        temperatureDriftK,
      ),
      humidity: later(firstHumidity!, otherHumidity!, driftHumidity!, humidityOffsetPct, humidityDriftPct),
    },
  };
}
