import type { HealthFinding, SensorWindow } from './finding.ts';
import { isPowerOn } from './set-aside.ts';
import type { HealthSettings } from './settings.ts';

/** The one-wire chip shows 85 °C when it lost power between the order to measure and the answer. */
export function powerOnValue({ series }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  if (series.temperature === undefined) return [];
  const { times, values } = series.temperature;
  const found: number[] = [];
  for (let k = 0; k < values.length; k++) {
    if (isPowerOn(values, k, Math.max(0, k - 3), Math.min(values.length, k + 4), settings)) found.push(times[k]!);
  }
  if (found.length === 0) return [];
  return [
    {
      code: 'power-on-value',
      severity: found.length > 2 ? 'caution' : 'note',
      message: `It showed exactly ${settings.powerOnC} °C ${found.length === 1 ? 'once' : `${found.length} times`}: what a one-wire chip answers when it lost power while measuring.`,
      data: { readings: found.length, valueC: settings.powerOnC },
      from: found[0]!,
      to: found.at(-1)!,
      whatToDo:
        'Check the plug and the supply of the probe, shorten its lead, or feed it by its own supply wire; let the program send nothing when it reads this value.',
      effect: { kind: 'not-counted' },
    },
  ];
}
