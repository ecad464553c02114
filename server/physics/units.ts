import { ZERO_CELSIUS_K } from './constants.ts';
import { type Quantity, quantities } from './quantities.ts';

/** A unit in which a quantity may come: value in the quantity's own unit = (value + shift) * factor. */
interface Conversion {
  readonly shift: number;
  readonly factor: number;
}

const own: Conversion = { shift: 0, factor: 1 };
const ratio: Conversion = { shift: 0, factor: 100 };

const conversions = {
  temperature: { C: own, F: { shift: -32, factor: 5 / 9 }, K: { shift: -ZERO_CELSIUS_K, factor: 1 } },
  humidity: { '%': own, ratio },
  timberMoisture: { '%': own, ratio },
  co2: { ppm: own, '%': { shift: 0, factor: 10_000 }, ratio: { shift: 0, factor: 1e6 } },
  battery: { V: own, mV: { shift: 0, factor: 1e-3 } },
} as const satisfies Record<Quantity, Record<string, Conversion>>;

export type Unit = { [Q in Quantity]: keyof (typeof conversions)[Q] }[Quantity];

/** The units in which a quantity may come; the first is its own. */
export const unitsOf = (quantity: Quantity): readonly Unit[] => Object.keys(conversions[quantity]) as Unit[];

export const unitNames = [...new Set((Object.keys(quantities) as Quantity[]).flatMap(unitsOf))];

const conversionOf = (quantity: Quantity, unit: Unit): Conversion | undefined =>
  (conversions[quantity] as Partial<Record<Unit, Conversion>>)[unit];

/**
 * Takes off the noise of binary fractions beyond the twelfth digit, so that 294.3 K is 21.15 °C and not
 * 21.150000000000034; no sensor has such digits.
 */
export const withoutNoise = (value: number): number => Number(value.toPrecision(12));

/**
 * A value in the unit of its quantity.
 *
 * @throws RangeError when the quantity does not come in that unit
 */
export function inOwnUnit(quantity: Quantity, value: number, unit: Unit): number {
  const conversion = conversionOf(quantity, unit);
  if (conversion === undefined) {
    throw new RangeError(`unit of ${quantity} is ${unit}; it must be one of ${unitsOf(quantity).join(', ')}`);
  }
  return conversion === own ? value : withoutNoise((value + conversion.shift) * conversion.factor);
}
