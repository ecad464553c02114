import type { Estimate } from '../../../analysis/assessment.ts';
import type { Scene, Shape } from '../scene.ts';
import { type Plot, room, scale, ticks } from './axis.ts';

export interface IntervalRow {
  readonly name: string;
  readonly estimate: Estimate | null;
  /** the figure in words, at the right */
  readonly words: string;
}

const WIDTH = 480;
const ROW = 24;

/** Figures with their 95 % intervals under each other, against a limit. */
export function intervalChart(
  alt: string,
  rows: readonly IntervalRow[],
  limit: { readonly value: number; readonly text: string } | null,
): Scene {
  const height = 34 + rows.length * ROW + 22;
  const plot: Plot = { left: 150, top: 26, right: WIDTH - 118, bottom: 26 + rows.length * ROW };
  const known = rows.flatMap(({ estimate }) => (estimate === null ? [] : [estimate.low, estimate.high]));
  const [from, to] = room(known, limit === null ? [] : [limit.value]);
  const x = scale(from, to, plot.left, plot.right);
  const shapes: Shape[] = [
    ...ticks(from, to, 5).flatMap((value): Shape[] => [
      { kind: 'line', points: [x(value), plot.top, x(value), plot.bottom], ink: 'hair', width: 0.5 },
      {
        kind: 'text',
        x: x(value),
        y: plot.bottom + 12,
        text: value.toFixed(2),
        size: 7.5,
        ink: 'soft',
        anchor: 'middle',
      },
    ]),
    ...(limit === null
      ? []
      : ([
          {
            kind: 'line',
            points: [x(limit.value), plot.top - 6, x(limit.value), plot.bottom],
            ink: 'accent',
            width: 1,
            dash: [5, 2],
          },
          {
            kind: 'text',
            x: x(limit.value),
            y: plot.top - 10,
            text: limit.text,
            size: 7.5,
            ink: 'accent',
            anchor: 'middle',
          },
        ] as const)),
    ...rows.flatMap(({ name, estimate, words }, k): Shape[] => {
      const at = plot.top + (k + 0.5) * ROW;
      const label: Shape[] = [
        { kind: 'text', x: 0, y: at + 3, text: name, size: 8.5 },
        { kind: 'text', x: plot.right + 12, y: at + 3, text: words, size: 8.5, bold: true },
      ];
      if (estimate === null) return label;
      const { value, low, high } = estimate;
      return [
        ...label,
        { kind: 'line', points: [x(low), at, x(high), at], ink: 'ink', width: 1.2 },
        { kind: 'line', points: [x(low), at - 4, x(low), at + 4], ink: 'ink', width: 1.2 },
        { kind: 'line', points: [x(high), at - 4, x(high), at + 4], ink: 'ink', width: 1.2 },
        { kind: 'dot', x: x(value), y: at, radius: 3.2, ink: 'ink' },
      ];
    }),
  ];
  return { width: WIDTH, height, alt, shapes };
}
