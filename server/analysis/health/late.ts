import type { HealthFinding, SensorWindow } from './finding.ts';
import { hearing } from './hearing.ts';
import { mainSeries, spanWords } from './shared.ts';

/** Several of its readings are overdue. */
export function late(window: SensorWindow): HealthFinding[] {
  const { last, now } = window;
  const intervalSeconds = mainSeries(window)?.intervalSeconds ?? null;
  if (last === null || hearing(now, last, intervalSeconds) !== 'late') return [];
  return [
    {
      code: 'late',
      severity: 'caution',
      message: `The next reading is overdue: the last came ${spanWords(now - last)} ago.`,
      data: { quietHours: (now - last) / 3_600_000, intervalSeconds },
      from: last,
      to: now,
      whatToDo: 'Wait an hour; if it stays away, check its power and its radio connection.',
      effect: { kind: 'shown' },
    },
  ];
}
