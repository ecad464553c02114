import { assumedUncertainty } from '../../../server/analysis/assessment-settings.ts';
import type { ForecastInput } from '../../../server/analysis/forecast/tonight-forecast.ts';
import type { PlaceHours } from '../../../server/analysis/place-hours.ts';
import { air, HOUR_MS, livedIn, surfaceOf, winter } from '../made-hours.ts';

export const START = Date.parse('2025-11-20T00:00:00Z');
const HOURS = 75 * 24;
const FACTOR = 0.6;

/** A surface that follows the air on both sides at once, with the living of a damp bedroom, for 75 days. */
export function madeInput(now: number, change: Partial<ForecastInput> = {}): ForecastInput {
  const room = air(
    START,
    HOURS,
    livedIn,
    (hour) => 52 + 6 * Math.sin(hour / 29) + 3 * Math.cos((2 * Math.PI * hour) / 24),
  );
  const cold = air(START, HOURS, winter, () => 85);
  return {
    now,
    zone: 'Europe/London',
    surface: surfaceOf(room, (i) => cold.temperature[i]! + FACTOR * (room.temperature[i]! - cold.temperature[i]!)),
    room,
    cold,
    coldIs: 'outdoor',
    feeds: [],
    leftOut: [],
    uncertainty: { surface: assumedUncertainty, room: assumedUncertainty, cold: assumedUncertainty },
    ...change,
  };
}

/** The same hours, with every column changed from a moment on. */
export function otherwiseFrom(
  hours: PlaceHours,
  moment: number,
  change: (value: number, i: number) => number,
): PlaceHours {
  const from = Math.ceil((moment - hours.start) / HOUR_MS);
  const columns = Object.entries(hours).map(([name, column]) => [
    name,
    column instanceof Float64Array ? column.map((value, i) => (i < from ? value : change(value, i))) : column,
  ]);
  return Object.fromEntries(columns) as PlaceHours;
}
