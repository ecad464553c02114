import type { Estimate, FactorWorking, Worked } from '../assessment.ts';

/** How one temperature factor was worked out. */
export const factorWorked = (working: FactorWorking): Worked => ({
  formula:
    'f = mean(surface - cold side) / mean(room - cold side) over settled night hours, both airs delayed by the fitted lags',
  inputs: [
    { name: 'mean surface - cold side', value: working.meanSurfaceDifferenceK, unit: 'K' },
    { name: 'mean room - cold side', value: working.meanDifferenceK, unit: 'K' },
    { name: 'nights', value: working.nights, unit: '' },
    { name: 'hours', value: working.hours, unit: 'h' },
    { name: 'lag of the cold side', value: working.coldLagHours, unit: 'h' },
    { name: 'lag of the room', value: working.roomLagHours, unit: 'h' },
    { name: 'standard uncertainty by chance', value: working.randomUncertainty, unit: '' },
    { name: 'standard uncertainty by sensor offsets and method', value: working.systematicUncertainty, unit: '' },
    { name: 'slope, which offsets do not move', value: working.slope?.value ?? null, unit: '' },
  ],
  uncertainty:
    'The interval holds the middle 95 % of the draws: whole nights resampled in blocks, and for each draw offsets of the three sensors from their standard uncertainties.',
  source: 'ISO 13788:2012, 3.1.2; blocks of days: Künsch (1989)',
});

/** A figure that is one known figure less another. */
export function differenceWorked(
  formula: string,
  one: { readonly name: string; readonly value: Estimate | null },
  other: { readonly name: string; readonly value: Estimate | null },
  unit: string,
  source: string,
): Worked {
  return {
    formula,
    inputs: [one, other].map(({ name, value }) => ({ name, value: value?.value ?? null, unit })),
    uncertainty:
      'Worked out anew in every draw, so that what both figures have in common, such as the offset of one sensor, cancels; the interval holds the middle 95 %.',
    source,
  };
}
