import { DateTime } from 'luxon';
import type { Shape } from '../scene.ts';

/** From a figure to a place on the paper. */
export type Scale = (value: number) => number;

export const scale =
  (from: number, to: number, start: number, end: number): Scale =>
  (value) =>
    start + ((value - from) / (to === from ? 1 : to - from)) * (end - start);

/** Round figures over a span, at most `most` of them. */
export function ticks(from: number, to: number, most: number): number[] {
  const span = to - from;
  if (!(span > 0)) return [from];
  const rough = span / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((factor) => factor * power >= rough) ?? 10) * power;
  const out: number[] = [];
  for (let value = Math.ceil(from / step) * step; value <= to + step * 1e-9; value += step) {
    out.push(Math.abs(value) < step * 1e-9 ? 0 : value);
  }
  return out;
}

/** A span of figures with room at both ends, which takes in `always`. */
export function room(values: Iterable<number>, always: readonly number[] = []): [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  for (const value of always) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (!Number.isFinite(low)) return [0, 1];
  const spare = (high - low || 1) * 0.06;
  return [low - spare, high + spare];
}

export interface Plot {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

const plain = (value: number): string => String(Math.round(value * 1000) / 1000).replace('-', '−');

/** Lines across at round figures, with the figures and the unit at the left. */
export function figureAxis(plot: Plot, from: number, to: number, unit: string): { y: Scale; shapes: Shape[] } {
  const y = scale(from, to, plot.bottom, plot.top);
  const marks = ticks(from, to, 5);
  return {
    y,
    shapes: [
      ...marks.flatMap((value): Shape[] => [
        { kind: 'line', points: [plot.left, y(value), plot.right, y(value)], ink: 'hair', width: 0.5 },
        { kind: 'text', x: plot.left - 5, y: y(value) + 3, text: plain(value), size: 7.5, ink: 'soft', anchor: 'end' },
      ]),
      { kind: 'text', x: plot.left - 5, y: plot.top - 6, text: unit, size: 7.5, ink: 'soft', anchor: 'end' },
    ],
  };
}

const dateOf = (day: number): DateTime => DateTime.fromMillis(day * 86_400_000, { zone: 'utc' });

/** Strokes at the first of months, named as far as there is room. @param from, to local calendar days since 1970 */
export function dayAxis(plot: Plot, from: number, to: number): { x: Scale; shapes: Shape[] } {
  const x = scale(from, to + 1, plot.left, plot.right);
  const shapes: Shape[] = [
    { kind: 'line', points: [plot.left, plot.bottom, plot.right, plot.bottom], ink: 'ink', width: 0.7 },
  ];
  const months = Math.max(1, (to - from) / 30.4);
  const every = [1, 2, 3, 6, 12].find((step) => (plot.right - plot.left) / (months / step) > 44) ?? 12;
  const dense = months < 2.5;
  if (dense) {
    const step = Math.max(1, Math.ceil((to - from + 1) / 10));
    for (let day = from; day <= to; day += step) shapes.push(...mark(day, dateOf(day).toFormat('d LLL')));
  } else {
    for (let at = dateOf(from).startOf('month'); at <= dateOf(to); at = at.plus({ months: 1 })) {
      const day = at.toMillis() / 86_400_000;
      if (day < from) continue;
      const named = (at.month - 1) % every === 0;
      shapes.push(...mark(day, named ? at.toFormat(every >= 12 ? 'yyyy' : 'LLL yy') : ''));
    }
  }
  return { x, shapes };

  function mark(day: number, text: string): Shape[] {
    return [
      { kind: 'line', points: [x(day), plot.bottom, x(day), plot.bottom + 3], ink: 'ink', width: 0.5 },
      { kind: 'text', x: x(day) + 1, y: plot.bottom + 11, text, size: 7.5, ink: 'soft' },
    ];
  }
}

/** A key of what the lines are, in one row; gives back its shapes. */
export function legend(
  entries: readonly { text: string; shape: (x: number, y: number) => Shape[] }[],
  left: number,
  y: number,
): Shape[] {
  let x = left;
  return entries.flatMap(({ text, shape }) => {
    const at = x;
    x += 26 + text.length * 4.4 + 14;
    return [...shape(at, y), { kind: 'text' as const, x: at + 26, y: y + 3, text, size: 7.5, ink: 'soft' as const }];
  });
}
