import { type Quantity, quantities, quantityNames } from '../physics/quantities.ts';

/** Quantities by the names under which they stand in tables. */
export const quantityOfWire: ReadonlyMap<string, Quantity> = new Map(
  quantityNames.map((name) => [quantities[name].wire, name]),
);
