import type { WinterTally } from '../../../analysis/winters.ts';
import type { Scene, Shape } from '../scene.ts';
import { figureAxis, legend, type Plot, room, scale } from './axis.ts';

const WIDTH = 480;
const dashes: readonly (readonly number[] | undefined)[] = [undefined, [6, 2], [2, 2], [8, 2, 2, 2]];
const months = ['Oct', 'Nov', 'Dec', 'Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep'] as const;
const monthStarts = [0, 31, 61, 92, 123, 151, 182, 212, 243, 273, 304, 335] as const;

/** Risk hours added up since 1 October, a line for each winter, told apart by dash. */
export function winterChart(alt: string, winters: readonly WinterTally[]): Scene {
  const height = 180;
  const plot: Plot = { left: 40, top: 18, right: WIDTH - 40, bottom: height - 34 };
  const longest = Math.max(200, ...winters.map(({ cumulativeRiskHours }) => cumulativeRiskHours.length));
  const [, high] = room(
    winters.flatMap(({ riskHours }) => [riskHours]),
    [0, 10],
  );
  const { y, shapes: across } = figureAxis(plot, 0, high, 'h');
  const x = scale(0, longest, plot.left, plot.right);
  const along = months.flatMap((name, k): Shape[] =>
    monthStarts[k]! > longest
      ? []
      : [
          {
            kind: 'line',
            points: [x(monthStarts[k]!), plot.bottom, x(monthStarts[k]!), plot.bottom + 3],
            ink: 'ink',
            width: 0.5,
          },
          { kind: 'text', x: x(monthStarts[k]!) + 1, y: plot.bottom + 11, text: name, size: 7.5, ink: 'soft' },
        ],
  );
  const lines = winters.flatMap(({ name, cumulativeRiskHours: sums }, k): Shape[] => {
    const dash = dashes[k % dashes.length];
    return [
      {
        kind: 'line',
        points: sums.flatMap((sum, day) => [x(day + 1), y(sum)]),
        ink: 'ink',
        width: 1.2,
        ...(dash === undefined ? {} : { dash }),
      },
      ...(sums.length === 0
        ? []
        : [{ kind: 'text' as const, x: x(sums.length) + 3, y: y(sums.at(-1)!) - 2, text: name, size: 7 }]),
    ];
  });
  const key = legend(
    winters.map(({ name }, k) => ({
      text: `winter ${name}`,
      shape: (left, at): Shape[] => {
        const dash = dashes[k % dashes.length];
        return [
          {
            kind: 'line',
            points: [left, at, left + 20, at],
            ink: 'ink',
            width: 1.2,
            ...(dash === undefined ? {} : { dash }),
          },
        ];
      },
    })),
    plot.left,
    height - 7,
  );
  return {
    width: WIDTH,
    height,
    alt,
    shapes: [
      ...across,
      { kind: 'line', points: [plot.left, plot.bottom, plot.right, plot.bottom], ink: 'ink', width: 0.7 },
      ...along,
      ...lines,
      ...key,
    ],
  };
}
