import type { HealthFinding, SensorWindow } from './finding.ts';
import { setAside } from './set-aside.ts';
import type { HealthSettings } from './settings.ts';

/** Single temperature readings far from both their neighbours, which agree with each other. */
export function spikes({ series }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  if (series.temperature === undefined) return [];
  const { times, values } = series.temperature;
  const found: number[] = [];
  let largest = 0;
  for (let k = 1; k + 1 < values.length; k++) {
    if (values[k] === settings.powerOnC) continue;
    if (times[k + 1]! - times[k]! > settings.spikeNeighbourMs) continue;
    if (times[k]! - times[k - 1]! > settings.spikeNeighbourMs) continue;
    const before = values[k]! - values[k - 1]!;
    const after = values[k]! - values[k + 1]!;
    const size = Math.min(Math.abs(before), Math.abs(after));
    if (before * after <= 0 || size < settings.spikeK) continue;
    if (Math.abs(values[k + 1]! - values[k - 1]!) > settings.spikeK / 3) continue;
    found.push(k);
    largest = Math.max(largest, size);
  }
  // so many are no single readings: two sensors by turns, which is another rule's
  if (found.length === 0 || found.length > settings.spikeShare * values.length) return [];
  const marks = setAside(series.temperature, settings);
  const counted = found.filter((k) => marks?.[k] !== 1).length;
  const what = found.length === 1 ? 'One reading stood' : `${found.length} single readings stood`;
  const told = counted === 0 ? '' : ` ${counted} of them could not be left out: the hour had too few others.`;
  return [
    {
      code: 'spikes',
      severity: found.length > 2 ? 'caution' : 'note',
      message: `${what} ${found.length === 1 ? '' : 'up to '}${largest.toFixed(0)} K away from those before and after.${told}`,
      data: { readings: found.length, largestK: largest, stillCounted: counted },
      from: times[found[0]!]!,
      to: times[found.at(-1)!]!,
      whatToDo: 'Check the plug, the solder joints and the lead of the probe, and its power supply.',
      effect: counted === 0 ? { kind: 'not-counted' } : { kind: 'shown' },
    },
  ];
}
