import { measured, propagate, standardUncertainty } from '../physics/uncertainty.ts';
import { type Calibration, corrected } from './calibration.ts';
import { ownUncertainty } from './sensor-errors.ts';

/** How far a sensor moved from one calibration to the next. */
export interface Drift {
  readonly days: number;
  /** what it reads now for what it read then, less that: positive, it reads higher. In the unit of the series */
  readonly change: number;
  /** standard uncertainty of the change */
  readonly uncertainty: number;
  /** change in a year of 365 days; null where the two are too close in time to say */
  readonly perYear: number | null;
  /** whether the change is beyond twice its uncertainty, and so hardly chance */
  readonly beyondDoubt: boolean;
}

const DAY_MS = 86_400_000;
/** A yearly rate from less than this would blow up the doubt more than twelve times; no source: common practice, d. */
const SHORTEST_DAYS = 30;

/**
 * How far a sensor drifted between two calibrations, where it was compared the second time. An error that both share
 * (one reference used twice) cancels.
 *
 * @param earlier of the same series as `later`, made before it
 */
export function calibrationDrift(earlier: Calibration, later: Calibration): Drift {
  const { points } = later;
  const reading = points.reduce((sum, point) => sum + point.reading, 0) / points.length;
  // what it should have read, as each of the two says; the one that corrects downwards has found it reading higher
  const change = corrected(reading, earlier.points) - corrected(reading, later.points);
  const difference = propagate(change, [errorsOf(earlier, 'earlier'), 1], [errorsOf(later, 'later'), -1]);
  const uncertainty = standardUncertainty(difference);
  const days = (later.madeAt - earlier.madeAt) / DAY_MS;
  return {
    days,
    change,
    uncertainty,
    perYear: days >= SHORTEST_DAYS ? (change * 365) / days : null,
    beyondDoubt: Math.abs(change) > 2 * uncertainty,
  };
}

function errorsOf({ uncertainty, sharedSource, sharedUncertainty }: Calibration, name: string) {
  const own = { source: name, contribution: ownUncertainty(uncertainty, sharedUncertainty) };
  return sharedSource === null
    ? measured(0, own)
    : measured(0, own, { source: sharedSource, contribution: sharedUncertainty });
}
