import type { CumulativeRiskHours } from '../../../server/api/contract/comparison.ts';
import { wallOf, winterStart } from '../time/zone.ts';
import type { PlotLine } from './plot.tsx';

const DAY_MS = 86_400_000;

/** Days since 1 October of the winter in which a column of local midnights begins. */
export function daysSinceOctober(zone: string, days: readonly number[]): number[] {
  const first = days[0];
  if (first === undefined) return [];
  const october = wallOf(zone, winterStart(zone, first));
  return days.map((day) => Math.round((wallOf(zone, day) - october) / DAY_MS));
}

interface Says {
  readonly before: (hours: number) => string;
  readonly after: (hours: number) => string;
  readonly expected: (hours: number) => string;
}

/** Before, after, and what would have been, on one axis of days since 1 October. */
export function cumulativeLines(
  columns: CumulativeRiskHours,
  zone: string,
  says: Says,
): { readonly lines: readonly PlotLine[]; readonly from: number; readonly to: number } {
  const { before, after } = columns;
  const at = (days: readonly number[], values: readonly number[]) =>
    daysSinceOctober(zone, days).map((x, i) => ({ x, y: values[i] ?? Number.NaN }));
  const total = (values: readonly number[]) => values.at(-1) ?? 0;
  const lines: PlotLine[] = [];
  if (after?.expected && after.expectedLow && after.expectedHigh) {
    lines.push(
      { points: at(after.day, after.expectedLow), ink: 'ink', stroke: 'none' },
      { points: at(after.day, after.expectedHigh), ink: 'ink', stroke: 'none', shade: 'to-previous' },
      {
        points: at(after.day, after.expected),
        ink: 'ink',
        stroke: 'dashed',
        label: says.expected(total(after.expected)),
      },
    );
  }
  if (before && before.day.length > 0) {
    lines.push({
      points: at(before.day, before.measured),
      ink: 'inkSoft',
      stroke: 'plain',
      label: says.before(total(before.measured)),
    });
  }
  if (after && after.day.length > 0) {
    lines.push({
      points: at(after.day, after.measured),
      ink: 'accent',
      stroke: 'bold',
      label: says.after(total(after.measured)),
    });
  }
  const xs = lines.flatMap(({ points }) => points.map(({ x }) => x));
  return { lines, from: Math.min(0, ...xs), to: Math.max(182, ...xs) };
}
