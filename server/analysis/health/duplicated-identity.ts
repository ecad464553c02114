import { HOUR_MS } from '../vocabulary.ts';
import type { HealthFinding, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { medianOf } from './shared.ts';

/** Two devices under one topic: values by turns from two levels, or different values for one instant. */
export function duplicatedIdentity(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const { series, conflicts } = window;
  const { temperature } = series;
  let apart = 0;
  let from = window.from;
  let to = window.now;
  if (temperature !== undefined) {
    const { times, values } = temperature;
    const days: number[] = [];
    for (let first = 0; first < times.length; ) {
      const day = Math.floor(times[first]! / (24 * HOUR_MS));
      let end = first;
      while (end < times.length && Math.floor(times[end]! / (24 * HOUR_MS)) === day) end++;
      const levels = levelsApart(values.subarray(first, end), settings);
      if (levels !== null) {
        days.push(times[first]!, times[end - 1]!);
        apart = Math.max(apart, levels);
      }
      first = end;
    }
    if (days.length > 0) {
      from = days[0]!;
      to = days.at(-1)!;
    }
  }
  if (apart === 0 && conflicts < settings.conflicts) return [];
  const told = [
    ...(apart > 0 ? [`its values change by turns between two levels ${apart.toFixed(1)} K apart`] : []),
    ...(conflicts > 0 ? [`${conflicts} instants have two different values`] : []),
  ];
  return [
    {
      code: 'duplicated-identity',
      severity: 'warning',
      message: `Two devices seem to send under this name: ${told.join(' and ')}.`,
      data: { levelsApartK: apart, conflicts },
      from,
      to,
      whatToDo: 'Give each device a topic of its own, then take what was sent by the wrong one out of use by date.',
      effect: { kind: 'shown' },
    },
  ];
}

function levelsApart(values: Float64Array, settings: HealthSettings): number | null {
  if (values.length < settings.twoLevelReadings) return null;
  const next = medianOf(values.subarray(1).map((value, k) => Math.abs(value - values[k]!)));
  const nextButOne = medianOf(values.subarray(2).map((value, k) => Math.abs(value - values[k]!)));
  return next >= settings.twoLevelK && next >= settings.twoLevelRatio * nextButOne ? next : null;
}
