import { above, inRange } from './range.ts';

/**
 * The steady vapour balance of a ventilated space: what is made inside leaves with the air, G = Δv n V. It holds for
 * means over days, not for an hour: surfaces store vapour.
 *
 * All three functions refuse (RangeError) production outside 0 to 100 kg/h, air changes at or under 0 or over 100 /h,
 * volume at or under 0 or over 100 000 m³, and excess outside its range.
 *
 * @source ISO 13788:2012, 4.2.4
 */

/**
 * Excess of vapour concentration over outdoors, kg/m³.
 *
 * @param production vapour made inside, kg/h
 * @param airChanges 1/h
 * @param volume m³
 */
export function steadyVapourExcess(production: number, airChanges: number, volume: number): number {
  return inRange('production', production, 'kg/h', 0, 100) / (changes(airChanges) * room(volume));
}

/**
 * Vapour made inside, kg/h. Negative where the place is drier than outdoors and takes vapour out of the air.
 *
 * @param excess excess of vapour concentration over outdoors, kg/m³, -0.1 to 0.1
 * @param airChanges 1/h
 * @param volume m³
 */
export function vapourProduction(excess: number, airChanges: number, volume: number): number {
  return inRange('excess', excess, 'kg/m³', -0.1, 0.1) * changes(airChanges) * room(volume);
}

/**
 * Air changes that a production and the excess it causes belong to, 1/h.
 *
 * @param production vapour made inside, kg/h
 * @param excess excess of vapour concentration over outdoors, kg/m³, 1e-6 to 0.1
 * @param volume m³
 */
export function airChangesFromProduction(production: number, excess: number, volume: number): number {
  inRange('production', production, 'kg/h', 0, 100);
  return production / (inRange('excess', excess, 'kg/m³', 1e-6, 0.1) * room(volume));
}

const changes = (airChanges: number): number => above('airChanges', airChanges, '/h', 0, 100);
const room = (volume: number): number => above('volume', volume, 'm³', 0, 100_000);
