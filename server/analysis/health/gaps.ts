import type { HealthFinding, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { mainSeries, spacingOf, spanWords } from './shared.ts';

/** Long pauses between readings, or many single ones missing. */
export function gaps(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const main = mainSeries(window);
  if (main === null || main.times.length < 2) return [];
  const { times } = main;
  const first = times[0]!;
  const last = times.at(-1)!;
  const pauses: { from: number; to: number }[] = [];
  for (let k = 1; k < times.length; k++) {
    if (times[k]! - times[k - 1]! >= settings.gapMs) pauses.push({ from: times[k - 1]!, to: times[k]! });
  }
  const spacing = spacingOf(main);
  const expected = (last - first) / spacing + 1;
  const missingShare = Math.max(0, 1 - times.length / expected);
  const many = last - first >= settings.missingWatchedMs && missingShare >= settings.missingShare;
  if (pauses.length === 0 && !many) return [];
  const longest = pauses.reduce((a, b) => (b.to - b.from > a.to - a.from ? b : a), { from: first, to: first });
  const longestMs = longest.to - longest.from;
  const told =
    pauses.length === 0
      ? `${(100 * missingShare).toFixed(0)} % of its readings are missing.`
      : `It paused ${pauses.length === 1 ? 'once' : `${pauses.length} times`}, the longest time for ${spanWords(longestMs)}.`;
  return [
    {
      code: 'gaps',
      severity: 'note',
      message: told,
      data: { pauses: pauses.length, longestHours: longestMs / 3_600_000, missingShare },
      from: pauses[0]?.from ?? first,
      to: pauses.at(-1)?.to ?? last,
      whatToDo:
        'Bring sensor and receiver nearer together or change the battery; if it buffers readings, let it send the missing ones.',
      effect: { kind: 'shown' },
    },
  ];
}
