import type { Spread } from '../../../analysis/local-days.ts';
import type { Ink, Scene, Shape } from '../scene.ts';
import { dayAxis, figureAxis, legend, type Plot, room } from './axis.ts';

export interface DaySeries {
  readonly name: string;
  readonly ink: Ink;
  readonly dash?: readonly number[];
  readonly days: readonly { readonly day: number; readonly value: Spread | number | null }[];
  /** draws the least and the greatest of each day as a band; a day without a value is a gap */
  readonly band?: Ink;
}

export interface DayChart {
  readonly alt: string;
  readonly unit: string;
  /** local calendar days since 1970, both included */
  readonly from: number;
  readonly to: number;
  readonly series: readonly DaySeries[];
  readonly limits?: readonly { readonly value: number; readonly text: string }[];
  /** spans that are named above the chart */
  readonly phases?: readonly { readonly from: number; readonly to: number; readonly name: string }[];
  /** days on which the diary says something, by the number it has in the text */
  readonly marks?: readonly { readonly day: number; readonly text: string }[];
  readonly height?: number;
}

const WIDTH = 480;

const meanOf = (value: Spread | number | null): number =>
  value === null ? Number.NaN : typeof value === 'number' ? value : value.mean;

/** Figures by day: the mean as a line, the least and greatest as a band, gaps as gaps. */
export function dayChart(chart: DayChart): Scene {
  const height = chart.height ?? 170;
  const plot: Plot = { left: 40, top: 32, right: WIDTH - 6, bottom: height - 32 };
  const shown = (day: number): boolean => day >= chart.from && day <= chart.to;
  const figures = function* () {
    for (const { days, band } of chart.series) {
      for (const { day, value } of days) {
        if (value === null || !shown(day)) continue;
        if (typeof value === 'number') yield value;
        else if (band === undefined) yield value.mean;
        else yield* [value.low, value.high];
      }
    }
  };
  const [low, high] = room(
    figures(),
    (chart.limits ?? []).map(({ value }) => value),
  );
  const { y, shapes: across } = figureAxis(plot, low, high, chart.unit);
  const { x, shapes: along } = dayAxis(plot, chart.from, chart.to);
  const clipped = (day: number): number => x(Math.min(Math.max(day, chart.from), chart.to + 1));
  const phases = (chart.phases ?? [])
    .filter(({ from, to }) => to >= chart.from && from <= chart.to)
    .flatMap(({ from, to, name }, k): Shape[] => {
      const left = clipped(from);
      const right = clipped(to);
      const fits = right - left > name.length * 4;
      return [
        ...(k % 2 === 0
          ? [{ kind: 'area' as const, points: box(left, plot.top, right, plot.bottom), ink: 'shade' as const }]
          : []),
        { kind: 'line', points: [left, plot.top - 4, left, plot.bottom], ink: 'soft', width: 0.5, dash: [2, 2] },
        ...(fits ? [{ kind: 'text' as const, x: left + 3, y: plot.top - 3, text: name, size: 7.5 }] : []),
      ];
    });
  const bands = chart.series.flatMap(({ days, band }) => (band === undefined ? [] : bandOf(days, band)));
  const lines = chart.series.map(
    ({ days, ink, dash }): Shape => ({
      kind: 'line',
      points: withGaps(days.filter(({ day }) => shown(day))).flatMap(({ day, value }) => [
        x(day + 0.5),
        y(meanOf(value)),
      ]),
      ink,
      width: 1.1,
      ...(dash === undefined ? {} : { dash }),
    }),
  );
  const limits = (chart.limits ?? []).map(
    ({ value }): Shape => ({
      kind: 'line',
      points: [plot.left, y(value), plot.right, y(value)],
      ink: 'accent',
      width: 0.9,
      dash: [5, 2],
    }),
  );
  const marks = (chart.marks ?? [])
    .filter(({ day }) => shown(day))
    .flatMap(({ day, text }, k, all): Shape[] => {
      const before = all[k - 1];
      const crowded = before !== undefined && x(day) - x(before.day) < 9;
      return [
        { kind: 'line', points: [x(day), plot.bottom - 7, x(day), plot.bottom], ink: 'ink', width: 1 },
        ...(crowded ? [] : [{ kind: 'text' as const, x: x(day) + 1.5, y: plot.bottom - 3, text, size: 6.5 }]),
      ];
    });
  const key = legend(
    [
      ...chart.series.map(({ name, ink, dash, band }) => ({
        text: band === undefined ? name : `${name}: mean, least and greatest of the day`,
        shape: (left: number, at: number): Shape[] => [
          ...(band === undefined
            ? []
            : [{ kind: 'area' as const, points: box(left, at - 4, left + 20, at + 4), ink: band }]),
          { kind: 'line', points: [left, at, left + 20, at], ink, width: 1.1, ...(dash === undefined ? {} : { dash }) },
        ],
      })),
      ...(chart.limits ?? []).map(({ text }) => ({
        text,
        shape: (left: number, at: number): Shape[] => [
          { kind: 'line', points: [left, at, left + 20, at], ink: 'accent', width: 0.9, dash: [5, 2] },
        ],
      })),
    ],
    plot.left,
    height - 7,
  );
  return {
    width: WIDTH,
    height,
    alt: chart.alt,
    shapes: [...phases, ...across, ...bands, ...lines, ...limits, ...marks, ...along, ...key],
  };

  function bandOf(days: DaySeries['days'], ink: Ink): Shape[] {
    const out: Shape[] = [];
    let upper: number[] = [];
    let lower: number[] = [];
    const close = (): void => {
      if (upper.length > 0) out.push({ kind: 'area', points: [...upper, ...reversed(lower)], ink });
      upper = [];
      lower = [];
    };
    for (const { day, value } of withGaps(days.filter((one) => shown(one.day)))) {
      if (value === null || typeof value === 'number') close();
      else {
        upper.push(x(day), y(value.high), x(day + 1), y(value.high));
        lower.push(x(day), y(value.low), x(day + 1), y(value.low));
      }
    }
    close();
    return out;
  }
}

/** Days that are not there become days without a value, so that no line runs over them. */
function withGaps(days: DaySeries['days']): { readonly day: number; readonly value: Spread | number | null }[] {
  const out: { readonly day: number; readonly value: Spread | number | null }[] = [];
  for (const one of days) {
    const last = out.at(-1);
    if (last !== undefined && one.day > last.day + 1) out.push({ day: last.day + 1, value: null });
    out.push(one);
  }
  return out;
}

export const box = (left: number, top: number, right: number, bottom: number): number[] => [
  left,
  top,
  right,
  top,
  right,
  bottom,
  left,
  bottom,
];

const reversed = (points: readonly number[]): number[] => {
  const out: number[] = [];
  for (let i = points.length - 2; i >= 0; i -= 2) out.push(points[i]!, points[i + 1]!);
  return out;
};
