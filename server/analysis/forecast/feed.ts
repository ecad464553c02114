import { HOUR_MS } from '../vocabulary.ts';
import type { Outdoors } from './night-course.ts';
import type { OutdoorFeed } from './tonight-forecast.ts';

const LEAST_COVERAGE = 0.8;

export interface ChosenFeed {
  readonly outdoors: Outdoors;
  readonly issued: number;
}

/**
 * The newest outdoor forecast that was known by a moment, not stale then, and says enough of the hours from there on.
 *
 * @param by UTC milliseconds of that moment
 * @param from the whole hour from which on the forecast is wanted
 */
export function feedAt(
  feeds: readonly OutdoorFeed[],
  by: number,
  from: number,
  leads: number,
  staleHours: number,
): ChosenFeed | null {
  let best: ChosenFeed | null = null;
  for (const feed of feeds) {
    if (feed.received > by || feed.issued > by || feed.issued < by - staleHours * HOUR_MS) continue;
    if (best !== null && feed.issued <= best.issued) continue;
    const temperature = hoursOf(feed.temperature, feed.from, from, leads);
    const vapourPressure = hoursOf(feed.vapourPressure, feed.from, from, leads);
    let said = 0;
    for (let lead = 0; lead < leads; lead++) if (Number.isFinite(temperature[lead]! + vapourPressure[lead]!)) said += 1;
    if (said >= LEAST_COVERAGE * leads) best = { outdoors: { temperature, vapourPressure }, issued: feed.issued };
  }
  return best;
}

function hoursOf(values: Float64Array, start: number, from: number, leads: number): Float64Array {
  const shift = Math.round((from - start) / HOUR_MS);
  return Float64Array.from({ length: leads }, (_, lead) => values[lead + shift] ?? Number.NaN);
}
