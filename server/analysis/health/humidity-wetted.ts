import type { HealthFinding, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';

/**
 * More than 100 %: a humidity element over-reads after it was wet or after long high humidity. Over-reading that stays
 * below 100 % cannot be told from damp air by the sensor itself: a side-by-side run shows it.
 */
export function humidityWetted({ series }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  if (series.humidity === undefined) return [];
  const { times, values } = series.humidity;
  const over: number[] = [];
  let most = 0;
  for (let k = 0; k < values.length; k++) {
    if (!(values[k]! > settings.overFullPct)) continue;
    over.push(times[k]!);
    most = Math.max(most, values[k]!);
  }
  if (over.length < settings.overFullReadings) return [];
  const extra = Math.max(settings.wettedExtraPct, most - 100);
  return [
    {
      code: 'humidity-wetted',
      severity: 'caution',
      message: `It showed up to ${most.toFixed(1)} % humidity, ${over.length} times more than there can be: its element was wet, or has stood in damp air for long, and reads high.`,
      data: { readings: over.length, highestPct: most, readsHighByPct: extra },
      from: over[0]!,
      to: over.at(-1)!,
      whatToDo:
        'Let it dry in a warm dry room for a day, then run it side by side with another sensor; shield it from drips.',
      effect: { kind: 'wider', quantity: 'humidity', limit: extra },
    },
  ];
}
