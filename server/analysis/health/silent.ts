import type { HealthFinding, SensorWindow } from './finding.ts';
import { hearing } from './hearing.ts';
import { mainSeries, spanWords } from './shared.ts';

/** Nothing for more than a day. A sensor that never spoke is none yet, and not silent. */
export function silent(window: SensorWindow): HealthFinding[] {
  const { last, now } = window;
  if (last === null || hearing(now, last, mainSeries(window)?.intervalSeconds ?? null) !== 'silent') return [];
  const quietHours = (now - last) / 3_600_000;
  return [
    {
      code: 'silent',
      severity: 'warning',
      message: `Nothing has been heard for ${spanWords(now - last)}.`,
      data: { quietHours },
      from: last,
      to: now,
      whatToDo: 'Check its battery or power supply, then its radio connection; restart it if both are good.',
      effect: { kind: 'shown' },
    },
  ];
}
