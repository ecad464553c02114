import { inRange } from './range.ts';

/** Which way heat goes through the element in the cold season. */
export type HeatFlow = 'up' | 'horizontal' | 'down';

const THICKNESS_MM = [0, 5, 7, 10, 15, 25, 50, 100, 300] as const;
const RESISTANCE = {
  up: [0, 0.11, 0.13, 0.15, 0.16, 0.16, 0.16, 0.16, 0.16],
  horizontal: [0, 0.11, 0.13, 0.15, 0.17, 0.18, 0.18, 0.18, 0.18],
  down: [0, 0.11, 0.13, 0.15, 0.17, 0.19, 0.21, 0.22, 0.23],
} as const;

/**
 * Thermal resistance of an air layer that nothing blows through, between surfaces that are not shiny, m2K/W.
 * Straight lines between the tabulated thicknesses.
 *
 * @param thickness m, 0 to 0.3; what is deeper is a room and not a layer
 * @throws RangeError outside that range
 * @source ISO 6946:2017, Table 8 (2007: Table 2), from memory
 */
export function unventilatedAirResistance(thickness: number, flow: HeatFlow): number {
  inRange('thickness', thickness, 'm', 0, 0.3);
  const millimetres = thickness * 1000;
  const values = RESISTANCE[flow];
  let above = 1;
  while (above < THICKNESS_MM.length - 1 && millimetres > THICKNESS_MM[above]!) above += 1;
  const low = THICKNESS_MM[above - 1]!;
  const share = (millimetres - low) / (THICKNESS_MM[above]! - low);
  return values[above - 1]! + share * (values[above]! - values[above - 1]!);
}

/** Surface resistances, m2K/W. @source ISO 6946:2017, Table 7 */
export const INTERNAL_SURFACE_RESISTANCE = Object.freeze({ up: 0.1, horizontal: 0.13, down: 0.17 });
export const EXTERNAL_SURFACE_RESISTANCE = 0.04;

/**
 * Internal surface resistance for judging mould on opaque surfaces, where furniture and corners slow the air, m2K/W.
 *
 * @source ISO 13788:2012, 4.4.1 and Table 2, from memory
 */
export const MOULD_SURFACE_RESISTANCE = 0.25;

/**
 * Direction of heat flow in the cold season through a ceiling of this pitch. Heat crosses the slope at right angles, and
 * counts as horizontal within 30° of the horizontal plane: from a pitch of 60° up.
 *
 * @param pitch slope from the horizontal, 0 (flat ceiling) to 90 ° (wall)
 * @throws RangeError outside that range
 * @source ISO 6946:2017, 6.8 (values for horizontal apply to ±30° from the horizontal plane)
 */
export function heatFlowThroughPitch(pitch: number): HeatFlow {
  return inRange('pitch', pitch, '°', 0, 90) < 60 ? 'up' : 'horizontal';
}

/** Openings, mm2 a metre of length (upright layers) or a square metre (level ones). @source ISO 6946:2017, 6.9 */
export const SLIGHTLY_VENTILATED_FROM_MM2 = 500;
export const WELL_VENTILATED_FROM_MM2 = 1500;

/** How freely air passes through a layer, judged by the area of its openings to outdoors. */
export function ventilationOf(openingMm2: number): 'unventilated' | 'slightly' | 'well' {
  if (!(openingMm2 >= 0)) {
    throw new RangeError(`openingMm2 is ${openingMm2} mm2; it must be 0 or more`);
  }
  if (openingMm2 >= WELL_VENTILATED_FROM_MM2) return 'well';
  return openingMm2 > SLIGHTLY_VENTILATED_FROM_MM2 ? 'slightly' : 'unventilated';
}
