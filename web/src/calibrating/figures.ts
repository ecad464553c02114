import type { Quantity } from '../../../server/physics/quantities.ts';
import { plusMinus } from '../words/format.ts';

const digitsOf = { temperature: 2, humidity: 1, timberMoisture: 1, co2: 0, battery: 3 } as const;

/** Digits after the point, finer than on the other screens: a correction is small. */
export const places = (name: Quantity): number => digitsOf[name];

/** The unit of a difference. */
export const differenceUnit = (unit: string): string => (unit === '°C' ? 'K' : unit);

/** A standard uncertainty as the half width of an interval of about 95 %. @source JCGM 100:2008 (GUM), 6.2.1 */
export const halfWidth = (uncertainty: number): number => 2 * uncertainty;

/** `+0.31 ± 0.12 K` of a correction and its standard uncertainty. */
export function correctionText(correction: number, uncertainty: number, unit: string, name: Quantity): string {
  const text = plusMinus({ value: correction, plusMinus: halfWidth(uncertainty) }, differenceUnit(unit), places(name));
  return correction > 0 && /^[^±]*[1-9]/.test(text) ? `+${text}` : text;
}
