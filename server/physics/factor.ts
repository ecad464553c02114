import { above, inRange } from './range.ts';

/**
 * Temperature factor of a plane element in steady state, no unit: f = 1 - U Rsi, with U worked out with this same Rsi.
 *
 * @param transmittance U, W/(m² K), 0 to 1 / Rsi
 * @param surfaceResistance Rsi, m² K/W, above 0 and at most 1
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 5.2
 */
export function factorOfTransmittance(transmittance: number, surfaceResistance: number): number {
  above('surfaceResistance', surfaceResistance, 'm²K/W', 0, 1);
  // A bare sheet with no outer resistance has U = 1/Rsi; rounding must not refuse it.
  inRange('transmittance', transmittance, 'W/m²K', 0, (1 + 1e-12) / surfaceResistance);
  return 1 - transmittance * surfaceResistance;
}

/**
 * U of a plane element in steady state from its temperature factor, W/(m² K). Inverse of {@link factorOfTransmittance}:
 * the U that belongs to this same Rsi. A measured film of another resistance gives another U.
 *
 * @param factor temperature factor, 0 to 1
 * @param surfaceResistance Rsi, m² K/W, above 0 and at most 1
 * @throws RangeError outside those ranges
 * @source ISO 13788:2012, 5.2
 */
export function transmittanceOfFactor(factor: number, surfaceResistance: number): number {
  inRange('factor', factor, '', 0, 1);
  above('surfaceResistance', surfaceResistance, 'm²K/W', 0, 1);
  return (1 - factor) / surfaceResistance;
}
