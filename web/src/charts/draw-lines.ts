import type { ChartPoint, PlotLine } from './plot-parts.ts';
import type { Theme } from './theme.ts';
import type { Window } from './window.ts';

/** Where a point of a chart is on its canvas, CSS pixels. */
export interface Ground {
  readonly x: (value: number) => number;
  readonly y: (value: number) => number;
  /** pixels of the screen in one of CSS */
  readonly ratio: number;
}

/**
 * Points of a line drawn in one go. A canvas without the help of a graphics processor takes many times as long over one
 * long jagged line as over the same line in short pieces (measured: 800 points, 33 ms whole, 6 ms in pieces of 25).
 */
const PIECE = 24;
/** Entries narrower than this, px, are shaded as upright strips instead, which look the same and cost next to nothing. */
const STRIP_PX = 3;

const strokes = {
  plain: { width: 1.5, dash: [] },
  bold: { width: 2.5, dash: [] },
  dashed: { width: 1.8, dash: [6, 4] },
  dotted: { width: 2, dash: [2, 3] },
} as const satisfies Record<string, { readonly width: number; readonly dash: readonly number[] }>;

const shades = { 'to-previous': 0.18, 'paler-to-previous': 0.08 } as const;
const DOT_PX = 1.8;

/** A colour thinned in the notation that every reader of SVG knows; a colour of the system, in forced colours, as it is. */
function faded(colour: string, share: number): string {
  const hex = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(colour);
  if (hex === null) return `color-mix(in srgb, ${colour} ${100 * share}%, transparent)`;
  return `rgba(${hex
    .slice(1)
    .map((part) => Number.parseInt(part, 16))
    .join(', ')}, ${share})`;
}

/** Index of the first of ascending points that lies at a place of the axis, or beyond it. */
function firstFrom(points: readonly ChartPoint[], at: number): number {
  let low = 0;
  let high = points.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (points[middle]!.x >= at) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** The points in a window and one beyond either end, so that lines run to the edge. */
const inView = (points: readonly ChartPoint[], { from, to }: Window): readonly ChartPoint[] =>
  points.slice(Math.max(0, firstFrom(points, from) - 1), firstFrom(points, to) + 1);

/** Lowest and highest value that lines have in a window; null: nothing is known there. */
export function rangeOf(lines: readonly PlotLine[], { from, to }: Window): readonly [number, number] | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const { points } of lines) {
    for (let i = firstFrom(points, from); i < points.length && points[i]!.x <= to; i++) {
      const { y } = points[i]!;
      if (y < low) low = y;
      if (y > high) high = y;
    }
  }
  return low > high ? null : [low, high];
}

/** Draws lines with their shades and dots, gaps left open. `whole`: each in one go, for drawings that are kept as paths. */
export function drawLines(
  ctx: CanvasRenderingContext2D,
  ground: Ground,
  lines: readonly PlotLine[],
  window: Window,
  theme: Theme,
  pieces: 'short' | 'whole',
): void {
  const most = pieces === 'short' ? PIECE : Number.POSITIVE_INFINITY;
  lines.forEach((line, i) => {
    const ink = theme[line.ink];
    const points = inView(line.points, window);
    if (line.shade !== undefined) {
      ctx.fillStyle = faded(ink, shades[line.shade]);
      fillBetween(ctx, ground, inView(lines[i - 1]!.points, window), points, pieces);
    }
    if (line.stroke === 'none') return;
    if (line.stroke === 'dots') {
      ctx.fillStyle = ink;
      for (const { x, y } of points) dot(ctx, ground.x(x), ground.y(y));
      return;
    }
    const { width, dash } = strokes[line.stroke];
    ctx.strokeStyle = ink;
    ctx.lineWidth = width;
    ctx.lineJoin = 'round';
    ctx.lineCap = dash.length === 0 ? 'round' : 'butt';
    ctx.setLineDash([...dash]);
    strokeAlong(ctx, ground, points, most);
  });
}

function dot(ctx: CanvasRenderingContext2D, x: number, y: number): void {
  ctx.beginPath();
  ctx.arc(x, y, DOT_PX, 0, 2 * Math.PI);
  ctx.fill();
}

/** Calls `draw` with first and last index of each run of known points, cut into pieces that share their ends. */
function eachPiece(
  n: number,
  known: (i: number) => boolean,
  most: number,
  draw: (first: number, last: number) => void,
) {
  for (let first = 0; first < n; ) {
    let last = first;
    if (known(first)) while (last + 1 < n && last - first < most && known(last + 1)) last++;
    if (last > first) draw(first, last);
    first = Math.max(last, first + 1);
  }
}

function strokeAlong(ctx: CanvasRenderingContext2D, ground: Ground, points: readonly ChartPoint[], most: number): void {
  // how far dashes have come, so that they run on from piece to piece
  let gone = 0;
  let before = -1;
  eachPiece(
    points.length,
    (i) => !Number.isNaN(points[i]!.y),
    most,
    (first, last) => {
      if (first !== before) gone = 0;
      before = last;
      ctx.lineDashOffset = gone;
      ctx.beginPath();
      let [px, py] = [ground.x(points[first]!.x), ground.y(points[first]!.y)];
      ctx.moveTo(px, py);
      for (let i = first + 1; i <= last; i++) {
        const [x, y] = [ground.x(points[i]!.x), ground.y(points[i]!.y)];
        ctx.lineTo(x, y);
        gone += Math.hypot(x - px, y - py);
        [px, py] = [x, y];
      }
      ctx.stroke();
    },
  );
  ctx.lineDashOffset = 0;
}

/** Shades the room between two lines over the same places of the axis. */
function fillBetween(
  ctx: CanvasRenderingContext2D,
  ground: Ground,
  low: readonly ChartPoint[],
  high: readonly ChartPoint[],
  pieces: 'short' | 'whole',
): void {
  const n = Math.min(low.length, high.length);
  if (n < 2) return;
  // on whole pixels, so that no seam shows where one piece ends and the next begins
  const snapped = (value: number): number => Math.round(ground.x(value) * ground.ratio) / ground.ratio;
  const x = (i: number): number => snapped(high[i]!.x);
  const inStrips = pieces === 'short' && ground.x(high[n - 1]!.x) - ground.x(high[0]!.x) < STRIP_PX * (n - 1);
  eachPiece(
    n,
    (i) => !Number.isNaN(low[i]!.y) && !Number.isNaN(high[i]!.y),
    inStrips || pieces === 'whole' ? Number.POSITIVE_INFINITY : PIECE,
    (first, last) => {
      if (inStrips) {
        let left = x(first);
        for (let i = first; i <= last; i++) {
          const right = i === last ? x(last) : snapped((high[i]!.x + high[i + 1]!.x) / 2);
          const top = ground.y(high[i]!.y);
          ctx.fillRect(left, top, right - left, ground.y(low[i]!.y) - top);
          left = right;
        }
        return;
      }
      ctx.beginPath();
      ctx.moveTo(x(first), ground.y(high[first]!.y));
      for (let i = first + 1; i <= last; i++) ctx.lineTo(x(i), ground.y(high[i]!.y));
      for (let i = last; i >= first; i--) ctx.lineTo(x(i), ground.y(low[i]!.y));
      ctx.fill();
    },
  );
}
