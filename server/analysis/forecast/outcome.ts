import { columnOver } from '../phase-hours.ts';
import type { PlaceHours } from '../place-hours.ts';
import { isCondensationHour } from '../risk.ts';
import { HOUR_MS } from '../vocabulary.ts';
import type { Night } from './night.ts';
import { forecastSettings } from './settings.ts';

export interface NightOutcome {
  /** it was a condensation night */
  readonly wet: boolean;
  /** lowest hourly margin, K */
  readonly lowest: number;
}

/**
 * What a night turned out to be by its hour records. null where too few are known to say that it was none; one condensation
 * hour is enough to say that it was.
 */
export function outcomeOf(surface: PlaceHours, night: Night): NightOutcome | null {
  const hours = Math.round((night.to - night.from) / HOUR_MS);
  const known = columnOver(surface, 'margin', night.from, hours).filter((margin) => !Number.isNaN(margin));
  if (known.length === 0) return null;
  const lowest = Math.min(...known);
  const wet = isCondensationHour(lowest) === true;
  return wet || known.length >= forecastSettings.nightCoverage * hours ? { wet, lowest } : null;
}
