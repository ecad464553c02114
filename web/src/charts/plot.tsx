import type { ReadonlySignal } from '@preact/signals';
import { BasicPlatform, Chart, type ChartConfiguration, LinearScale, type Plugin, type Scale } from 'chart.js';
import { useEffect, useRef } from 'preact/hooks';
import type { Stretch } from '../time/zone.ts';
import { NBSP, number } from '../words/format.ts';
import { drawLines, rangeOf } from './draw-lines.ts';
import type { ChartPoint, PlotLimit, PlotLine, PlotMark, PlotTick } from './plot-parts.ts';
import { type Theme, themeNow, themeRevision } from './theme.ts';
import type { Window } from './window.ts';

// axes with their ticks; what stands between them is drawn here
Chart.register(LinearScale);

export interface PlotProps {
  /** what a screen reader is told; the table behind the chart has the values */
  readonly label: string;
  readonly lines: readonly PlotLine[];
  readonly from: number;
  readonly to: number;
  readonly ticks: (most: number, window: Window) => readonly PlotTick[];
  readonly unit: string;
  readonly least?: number;
  readonly greatest?: number;
  readonly limits?: readonly PlotLimit[];
  /** stretches to shade in a window, e.g. its nights */
  readonly nights?: (window: Window) => readonly Stretch[];
  /** stretches to hatch, e.g. the works */
  readonly hatched?: readonly Stretch[];
  readonly marks?: readonly PlotMark[];
  /** the part shown, shared by charts that stand above each other; without it all of `from` to `to` */
  readonly window?: ReadonlySignal<Window>;
  /** where the reader points, on this axis; shared in the same way */
  readonly cursor?: ReadonlySignal<number | null>;
  readonly height: 'tall' | 'low';
}

/** A line chart as a drawing: no boxes, limits named on their lines, gaps left open. */
export function Plot(props: PlotProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const line = useRef<HTMLDivElement>(null);
  const redrawSoon = useRef<(() => void) | null>(null);
  const latest = useRef(props);
  latest.current = props;
  const theme = themeRevision.value;
  useEffect(() => {
    if (canvas.current === null) return;
    const chart = new Chart(
      canvas.current,
      configOf(() => latest.current, themeNow(), 'short'),
    );
    let shown = stateOf(latest.current);
    let frame = 0;
    // a chart out of sight waits until it comes into sight: of what is dragged, only that is drawn
    let inSight = true;
    const point = (): void => placeLine(line.current, chart, latest.current.cursor?.peek() ?? null);
    const redraw = (): void => {
      frame = 0;
      const state = stateOf(latest.current);
      if (!inSight || state.every((part, i) => part === shown[i])) return;
      shown = state;
      showWindow(chart, latest.current);
      point();
    };
    const soon = (): void => {
      frame ||= requestAnimationFrame(redraw);
    };
    const sight = new IntersectionObserver(
      ([seen]) => {
        inSight = seen?.isIntersecting ?? true;
        soon();
      },
      { rootMargin: '120px' },
    );
    sight.observe(canvas.current);
    const forget = [props.window?.subscribe(soon), props.cursor?.subscribe(point)];
    const resized = new ResizeObserver(point);
    resized.observe(canvas.current);
    redrawSoon.current = soon;
    return () => {
      redrawSoon.current = null;
      cancelAnimationFrame(frame);
      for (const each of forget) each?.();
      resized.disconnect();
      sight.disconnect();
      chart.destroy();
    };
  }, [theme, props.window, props.cursor]);
  useEffect(
    () => redrawSoon.current?.(),
    [props.lines, props.from, props.to, props.limits, props.nights, props.marks, props.hatched],
  );
  return (
    <div class={`plot is-${props.height}`}>
      <canvas ref={canvas} role="img" aria-label={props.label} />
      <div ref={line} class="reading-line no-print" hidden />
    </div>
  );
}

const windowOf = (props: PlotProps): Window => props.window?.peek() ?? props;

/** What a drawing shows; where all of it is the same, there is nothing to draw. */
function stateOf(props: PlotProps): readonly unknown[] {
  const { from, to } = windowOf(props);
  return [from, to, props.lines, props.limits, props.nights, props.marks, props.hatched];
}

function showWindow(chart: Chart<'line'>, props: PlotProps): void {
  const { from, to } = windowOf(props);
  const x = chart.options.scales!.x!;
  x.min = from;
  x.max = to;
  Object.assign(chart.options.scales!.y!, suggested(props));
  chart.update('none');
}

/** From where to where the axis of values must at least reach. */
function suggested(props: PlotProps): { readonly suggestedMin: number; readonly suggestedMax: number } {
  const [low, high] = rangeOf(props.lines, windowOf(props)) ?? [props.least ?? 0, props.greatest ?? 1];
  return {
    suggestedMin: Math.min(low, props.least ?? low),
    suggestedMax: Math.max(high, props.greatest ?? high),
  };
}

/** The reading line is no part of the drawing: it follows the pointer without anything being drawn again. */
function placeLine(line: HTMLDivElement | null, chart: Chart<'line'>, at: number | null): void {
  const x = chart.scales.x;
  if (line === null || x === undefined) return;
  line.hidden = at === null || at < x.min || at > x.max;
  if (at === null || line.hidden) return;
  const { top, bottom } = chart.chartArea;
  line.style.transform = `translateX(${x.getPixelForValue(at).toFixed(1)}px)`;
  line.style.top = `${top}px`;
  line.style.height = `${bottom - top}px`;
}

/** Room beside the figures of the axis at the left, and at the right end: charts above each other share it to the pixel. */
export const AXIS_PX = 58;
export const RIGHT_PX = 12;

/** `props` is asked at every drawing, so that what changed is drawn without a new chart. */
function configOf(props: () => PlotProps, theme: Theme, pieces: 'short' | 'whole'): ChartConfiguration<'line'> {
  let labels = new Map<number, string>();
  const hasMarks = (props().marks?.length ?? 0) > 0;

  const { from, to } = windowOf(props());
  return {
    type: 'line',
    data: { datasets: [] },
    options: {
      animation: false,
      responsive: true,
      maintainAspectRatio: false,
      events: [],
      layout: { padding: { top: hasMarks ? 22 : 8, right: RIGHT_PX } },
      scales: {
        x: {
          type: 'linear',
          min: from,
          max: to,
          border: { color: theme.ink },
          grid: { drawOnChartArea: false, color: theme.ink, tickLength: 5 },
          afterBuildTicks: (axis) => {
            const ticks = props().ticks(Math.max(2, Math.floor(axis.width / 64)), { from: axis.min, to: axis.max });
            labels = new Map(ticks.map(({ at, label }) => [at, label]));
            axis.ticks = ticks.map(({ at }) => ({ value: at }));
          },
          ticks: {
            color: theme.inkSoft,
            font: { family: theme.font, size: 12 },
            maxRotation: 0,
            autoSkip: false,
            callback: (value) => labels.get(Number(value)) ?? '',
          },
        },
        y: {
          type: 'linear',
          ...suggested(props()),
          // Charts above each other share their time axis to the pixel.
          afterFit: (axis) => {
            axis.width = AXIS_PX;
          },
          border: { display: false },
          grid: { color: theme.hair, lineWidth: 0.6, drawTicks: false },
          ticks: {
            color: theme.inkSoft,
            font: { family: theme.font, size: 12 },
            maxTicksLimit: 8,
            padding: 6,
            callback: (value, i, all) =>
              `${number(Number(value), digitsOf(all))}${i === all.length - 1 ? `${NBSP}${props().unit}` : ''}`,
          },
        },
      },
    },
    plugins: [drawing(props, theme, pieces), over(props, theme)],
  };
}

/** As many digits as the steps of an axis need. */
function digitsOf(ticks: readonly { readonly value: number }[]): number {
  const step = Math.abs((ticks[1]?.value ?? 1) - (ticks[0]?.value ?? 0));
  return step > 0 && step < 1 ? Math.ceil(-Math.log10(step)) : 0;
}

/** Nights and works, under everything else, and the lines. */
const drawing = (props: () => PlotProps, theme: Theme, pieces: 'short' | 'whole'): Plugin<'line'> => ({
  id: 'drawing',
  beforeDatasetsDraw(chart) {
    const { ctx, chartArea: area } = chart;
    const x = chart.scales.x!;
    ctx.save();
    ctx.fillStyle = theme.night;
    const clipped = ({ from, to }: Stretch) => {
      const left = Math.max(area.left, x.getPixelForValue(from));
      return { left, width: Math.min(area.right, x.getPixelForValue(to)) - left };
    };
    for (const night of props().nights?.({ from: x.min, to: x.max }) ?? []) {
      const { left, width } = clipped(night);
      if (width > 0) ctx.fillRect(left, area.top, width, area.bottom - area.top);
    }
    for (const stretch of props().hatched ?? []) {
      const { left, width } = clipped(stretch);
      if (width > 0) hatch(ctx, left, area.top, width, area.bottom - area.top, theme.hair);
    }
    const y = chart.scales.y!;
    ctx.beginPath();
    // a line at the very edge of its axis keeps its whole width
    ctx.rect(area.left, area.top - 2, area.right - area.left, area.bottom - area.top + 4);
    ctx.clip();
    drawLines(
      ctx,
      { x: pixelsOf(x), y: pixelsOf(y), ratio: chart.currentDevicePixelRatio },
      props().lines,
      { from: x.min, to: x.max },
      theme,
      pieces,
    );
    ctx.restore();
  },
});

/** Where values of an axis are, px: it is linear, and thousands are asked for. */
function pixelsOf(scale: Scale): (value: number) => number {
  const first = scale.getPixelForValue(scale.min);
  const each = (scale.getPixelForValue(scale.max) - first) / (scale.max - scale.min || 1);
  return (value) => first + (value - scale.min) * each;
}

/** Limits with their names, marks, the names of lines, and where the reader points. */
const over = (props: () => PlotProps, theme: Theme): Plugin<'line'> => ({
  id: 'over',
  afterDatasetsDraw(chart) {
    const { ctx, chartArea: area } = chart;
    const x = chart.scales.x!;
    const y = chart.scales.y!;
    ctx.save();
    ctx.lineWidth = 1;
    ctx.font = `12px ${theme.font}`;
    for (const limit of props().limits ?? []) {
      const at = y.getPixelForValue(limit.at);
      if (at < area.top - 1 || at > area.bottom + 1) continue;
      ctx.strokeStyle = theme.accent;
      ctx.setLineDash([5, 4]);
      stroke(ctx, area.left, at, area.right, at);
      written(ctx, theme, limit.label, area.left + 6, at - 5, theme.accent);
    }
    const named: { readonly from: number; readonly to: number }[] = [];
    const byRank = [...(props().marks ?? [])].sort((a, b) => rank[a.kind] - rank[b.kind] || a.at - b.at);
    for (const mark of byRank) {
      const at = x.getPixelForValue(mark.at);
      const end = mark.to === undefined ? at : x.getPixelForValue(mark.to);
      if (at > area.right || (at < area.left && end <= area.left)) continue;
      ctx.strokeStyle = theme.inkSoft;
      ctx.setLineDash(mark.kind === 'boundary' ? [] : [1.5, 3]);
      if (at >= area.left) stroke(ctx, at, area.top - 14, at, area.bottom);
      const width = ctx.measureText(mark.text).width + 4;
      const room = freeRoom(
        named,
        Math.max(at, area.left) + 4,
        width,
        Math.min(Math.max(end, at + width + 8), chart.width),
      );
      if (room === null) continue;
      ctx.fillStyle = theme.inkSoft;
      ctx.fillText(mark.text, room, area.top - 7);
      named.push({ from: room - 6, to: room + width + 6 });
    }
    ctx.setLineDash([]);
    const taken: number[] = [];
    for (const line of props().lines) {
      const last = line.label === undefined ? undefined : lastShown(line.points, x.max);
      if (line.label === undefined || last === undefined) continue;
      const width = ctx.measureText(line.label).width;
      const end = x.getPixelForValue(last.x);
      let height = y.getPixelForValue(last.y) - 7;
      while (taken.some((other) => Math.abs(other - height) < 15)) height -= 15;
      taken.push(height);
      const left = end + 8 + width > area.right ? Math.max(area.left, Math.min(end, area.right) - width - 4) : end + 6;
      written(ctx, theme, line.label, left, Math.max(height, area.top + 10), theme[line.ink]);
    }
    ctx.restore();
  },
});

/** Which marks get the room for their words first. */
const rank = { boundary: 0, note: 1 } as const;

/** Where text of a width fits between `from` and `to` beside what is there; null: nowhere. */
function freeRoom(taken: readonly Window[], from: number, width: number, to: number): number | null {
  let left = from;
  for (const other of [...taken].sort((a, b) => a.from - b.from)) {
    if (left + width > other.from && left < other.to) left = other.to;
  }
  return left + width <= to ? left : null;
}

/** The last known point that is in view. */
function lastShown(points: readonly ChartPoint[], most: number): ChartPoint | undefined {
  return points.findLast(({ x, y }) => x <= most && Number.isFinite(y));
}

/** Slanting lines, so that it can be told from a night in black and white too. */
function hatch(ctx: CanvasRenderingContext2D, left: number, top: number, width: number, height: number, ink: string) {
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, top, width, height);
  ctx.clip();
  ctx.strokeStyle = ink;
  ctx.lineWidth = 1;
  ctx.beginPath();
  for (let x = left - height - (left % 7); x < left + width; x += 7) {
    ctx.moveTo(x, top + height);
    ctx.lineTo(x + height, top);
  }
  ctx.stroke();
  ctx.restore();
}

function stroke(ctx: CanvasRenderingContext2D, x1: number, y1: number, x2: number, y2: number): void {
  ctx.beginPath();
  ctx.moveTo(x1, y1);
  ctx.lineTo(x2, y2);
  ctx.stroke();
}

/** Text with a little paper round it, so that it can be read over lines. */
function written(ctx: CanvasRenderingContext2D, theme: Theme, text: string, x: number, y: number, ink: string): void {
  ctx.lineJoin = 'round';
  ctx.strokeStyle = theme.paper;
  ctx.lineWidth = 4;
  ctx.setLineDash([]);
  ctx.strokeText(text, x, y);
  ctx.fillStyle = ink;
  ctx.fillText(text, x, y);
  ctx.lineWidth = 1;
}

/** The chart as it is shown, drawn anew into any canvas of a size in CSS pixels; for files and for paper. */
export function drawInto(
  canvas: HTMLCanvasElement,
  props: PlotProps,
  width: number,
  height: number,
  ratio: number,
  pieces: 'short' | 'whole',
  theme: Theme = themeNow(),
): Chart<'line'> {
  const config = configOf(() => props, theme, pieces);
  canvas.width = width * ratio;
  canvas.height = height * ratio;
  return new Chart(canvas, {
    ...config,
    platform: BasicPlatform,
    options: { ...config.options, responsive: false, devicePixelRatio: ratio },
  });
}
