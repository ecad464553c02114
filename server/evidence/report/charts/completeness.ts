import type { DayTally } from '../../../analysis/local-days.ts';
import type { Scene, Shape } from '../scene.ts';
import { dayAxis, type Plot } from './axis.ts';
import { box } from './days.ts';

export interface CompletenessRow {
  readonly name: string;
  readonly days: readonly DayTally[];
}

const WIDTH = 480;
const ROW = 15;

/** A day is full from this share of its hours on, and empty with none. Shares are ours, no source. */
const FULL = 0.9;

/** Which days of each place are known: a dark stroke is a whole day, a light one a part of it, nothing is a gap. */
export function completenessChart(alt: string, rows: readonly CompletenessRow[], from: number, to: number): Scene {
  const plot: Plot = { left: 132, top: 8, right: WIDTH - 6, bottom: 8 + rows.length * ROW };
  const { x, shapes: along } = dayAxis(plot, from, to);
  const shapes: Shape[] = rows.flatMap(({ name, days }, k): Shape[] => {
    const top = plot.top + k * ROW + 2;
    const bottom = top + ROW - 5;
    return [
      { kind: 'text', x: 0, y: bottom - 1, text: short(name), size: 7.5 },
      { kind: 'area', points: box(plot.left, top, plot.right, bottom), ink: 'paper', edge: 'hair' },
      ...strokes(days.filter(({ day }) => day >= from && day <= to)).map(
        ({ first, last, full }): Shape => ({
          kind: 'area',
          points: full
            ? box(x(first), top, x(last + 1), bottom)
            : box(x(first), (top + bottom) / 2 - 1.5, x(last + 1), (top + bottom) / 2 + 1.5),
          ink: full ? 'air' : 'accent',
        }),
      ),
    ];
  });
  return { width: WIDTH, height: plot.bottom + 18, alt, shapes: [...shapes, ...along] };
}

const short = (name: string): string => (name.length > 28 ? `${name.slice(0, 27)}…` : name);

/** Days of one kind that follow each other, as one stroke. */
function strokes(days: readonly DayTally[]): { first: number; last: number; full: boolean }[] {
  const out: { first: number; last: number; full: boolean }[] = [];
  for (const { day, hours, knownHours } of days) {
    if (knownHours === 0) continue;
    const full = knownHours >= FULL * Math.max(hours, 23);
    const last = out.at(-1);
    if (last !== undefined && last.full === full && last.last === day - 1) last.last = day;
    else out.push({ first: day, last: day, full });
  }
  return out;
}
