import { humidityClass } from '../physics/humidity-class.ts';
import type { Conditions, OverlapCount } from './assessment.ts';
import { columnOver, type PhaseHours } from './phase-hours.ts';
import type { PlaceHours } from './place-hours.ts';

/** Mean of the values that are known, or null. */
export function meanOf(values: Iterable<number>): number | null {
  let n = 0;
  let sum = 0;
  for (const value of values) {
    if (Number.isNaN(value)) continue;
    n += 1;
    sum += value;
  }
  return n === 0 ? null : sum / n;
}

/** How the people lived and what the weather was in one phase, over the hours that count. */
export function conditionsOf(phase: PhaseHours, room: PlaceHours, airChangesPerHour: number | null): Conditions {
  const roomHumidity = columnOver(room, 'humidity', phase.start, phase.length);
  const over = (of: (i: number) => number): number | null => {
    let n = 0;
    let sum = 0;
    for (let i = phase.lead; i < phase.length; i++) {
      if (phase.valid[i] === 0) continue;
      const value = of(i);
      if (Number.isNaN(value)) continue;
      n += 1;
      sum += value;
    }
    return n === 0 ? null : sum / n;
  };
  const excess = over((i) => phase.roomPressure[i]! - phase.coldPressure[i]!);
  const outdoor = over((i) => phase.cold[i]!);
  let validHours = 0;
  let spanHours = 0;
  for (let i = phase.lead; i < phase.length; i++) {
    spanHours += phase.counted[i]!;
    validHours += phase.valid[i]!;
  }
  const classified =
    excess === null || outdoor === null || Math.abs(excess) > 10_000 || Math.abs(outdoor) > 60
      ? null
      : humidityClass(excess, outdoor);
  return {
    outdoorMeanC: outdoor,
    roomMeanC: over((i) => phase.room[i]!),
    roomMeanHumidityPct: over((i) => roomHumidity[i]!),
    outdoorMeanVapourPressurePa: over((i) => phase.coldPressure[i]!),
    roomMeanVapourPressurePa: over((i) => phase.roomPressure[i]!),
    vapourExcessMeanPa: excess,
    humidityClass: classified?.kind === 'class' ? classified.humidityClass : null,
    airChangesPerHour,
    validHours,
    spanHours,
    coveragePct: spanHours === 0 ? 0 : (100 * validHours) / spanHours,
  };
}

/** Counts the after phase's hours whose room - cold difference lies within the middle 96 % of the before phase's. */
export function overlapOf(before: PhaseHours, after: PhaseHours): OverlapCount | null {
  const differences = (phase: PhaseHours): Float64Array => {
    const out: number[] = [];
    for (let i = phase.lead; i < phase.length; i++) if (phase.valid[i] === 1) out.push(phase.room[i]! - phase.cold[i]!);
    return Float64Array.from(out).sort();
  };
  const first = differences(before);
  const second = differences(after);
  if (first.length === 0 || second.length === 0) return null;
  const low = first[Math.floor(0.02 * (first.length - 1))]!;
  const high = first[Math.ceil(0.98 * (first.length - 1))]!;
  let inside = 0;
  for (const value of second) if (value >= low && value <= high) inside += 1;
  return { fromK: low, toK: high, inside, hours: second.length };
}
