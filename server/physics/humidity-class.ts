import { inRange } from './range.ts';

type HumidityClassNumber = 1 | 2 | 3 | 4 | 5;

/**
 * Upper limits of vapour excess of humidity classes 1 to 4 where it is 0 °C or colder outdoors, Pa. Class 5 lies above.
 *
 * @source ISO 13788:2012, Annex A; from memory
 */
const LIMITS_IN_THE_COLD = [270, 540, 810, 1080] as const;
const NO_LIMIT_FROM = 20;

/**
 * What ISO 13788 has in mind for each class. @source ISO 13788:2012, Annex A, table A.1; from memory
 */
export const humidityClassUse: Readonly<Record<HumidityClassNumber, string>> = Object.freeze({
  1: 'unoccupied buildings, storage of dry goods',
  2: 'offices, dwellings with normal occupancy and ventilation',
  3: 'buildings with unknown occupancy',
  4: 'sports halls, kitchens, canteens',
  5: 'special buildings such as laundries, breweries, swimming pools',
});

interface HumidityClassLimits {
  /** upper limits of classes 1 to 4 at this outdoor temperature, Pa */
  readonly limits: readonly [number, number, number, number];
  readonly meanExcess: number;
  readonly meanOutdoorTemperature: number;
  readonly source: string;
  readonly status: 'from memory';
}

export type HumidityClass =
  | (HumidityClassLimits & {
      readonly kind: 'class';
      readonly humidityClass: HumidityClassNumber;
      readonly use: string;
    })
  | (HumidityClassLimits & { readonly kind: 'too-warm-outdoors' });

/**
 * Upper limits of vapour excess of classes 1 to 4, Pa: constant up to 0 °C outdoors, then falling in a straight line to
 * nothing at 20 °C.
 *
 * @param meanOutdoorTemperature °C, -60 to 60
 * @throws RangeError outside that range
 * @source ISO 13788:2012, Annex A; from memory
 */
export function humidityClassLimits(meanOutdoorTemperature: number): readonly [number, number, number, number] {
  inRange('meanOutdoorTemperature', meanOutdoorTemperature, '°C', -60, 60);
  const share = Math.min(1, Math.max(0, (NO_LIMIT_FROM - meanOutdoorTemperature) / NO_LIMIT_FROM));
  const [first, second, third, fourth] = LIMITS_IN_THE_COLD;
  return [first * share, second * share, third * share, fourth * share];
}

/**
 * Humidity class of a period from its means. An excess equal to a class's upper limit belongs to that class; a place
 * drier than outdoors is in class 1. From 20 °C outdoors the limits are all zero and there is no class.
 *
 * @param meanExcess mean vapour excess of the period, Pa, -10 000 to 10 000
 * @param meanOutdoorTemperature mean of the same hours, °C, -60 to 60
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, Annex A; from memory
 */
export function humidityClass(meanExcess: number, meanOutdoorTemperature: number): HumidityClass {
  inRange('meanExcess', meanExcess, 'Pa', -10_000, 10_000);
  const limits = humidityClassLimits(meanOutdoorTemperature);
  const known = {
    limits,
    meanExcess,
    meanOutdoorTemperature,
    source: 'ISO 13788:2012, Annex A',
    status: 'from memory',
  } as const;
  if (meanOutdoorTemperature >= NO_LIMIT_FROM) return { kind: 'too-warm-outdoors', ...known };
  const number = (limits.filter((limit) => meanExcess > limit).length + 1) as HumidityClassNumber;
  return { kind: 'class', humidityClass: number, use: humidityClassUse[number], ...known };
}

/**
 * Room vapour pressure to design for, Pa: outdoor vapour pressure and the excess with ISO 13788's margin of a tenth.
 *
 * @param outdoor vapour pressure outdoors, Pa, 0 to 101 325
 * @param excess vapour excess of the class, Pa, -10 000 to 10 000
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 5.2 (safety factor 1.10)
 */
export function designVapourPressure(outdoor: number, excess: number): number {
  return inRange('outdoor', outdoor, 'Pa', 0, 101_325) + 1.1 * inRange('excess', excess, 'Pa', -10_000, 10_000);
}
