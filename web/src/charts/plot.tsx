import type { ReadonlySignal } from '@preact/signals';
import {
  BasicPlatform,
  Chart,
  type ChartConfiguration,
  type ChartDataset,
  Filler,
  LinearScale,
  LineController,
  LineElement,
  type Plugin,
  PointElement,
} from 'chart.js';
import { useEffect, useRef } from 'preact/hooks';
import type { Stretch } from '../time/zone.ts';
import { NBSP, number } from '../words/format.ts';
import type { ChartPoint, PlotLimit, PlotLine, PlotMark, PlotTick } from './plot-parts.ts';
import { type Theme, themeNow, themeRevision } from './theme.ts';
import type { Window } from './window.ts';

Chart.register(LineController, LineElement, PointElement, LinearScale, Filler);

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
  const drawn = useRef<Chart<'line'> | null>(null);
  const latest = useRef(props);
  latest.current = props;
  const theme = themeRevision.value;
  useEffect(() => {
    if (canvas.current === null) return;
    const chart = new Chart(
      canvas.current,
      configOf(() => latest.current, themeNow()),
    );
    drawn.current = chart;
    let frame = 0;
    const point = (): void => placeLine(line.current, chart, latest.current.cursor?.peek() ?? null);
    const redraw = (): void => {
      frame = 0;
      showWindow(chart, latest.current);
      point();
    };
    const forget = [
      props.window?.subscribe(() => {
        frame ||= requestAnimationFrame(redraw);
      }),
      props.cursor?.subscribe(point),
    ];
    const resized = new ResizeObserver(point);
    resized.observe(canvas.current);
    return () => {
      cancelAnimationFrame(frame);
      for (const each of forget) each?.();
      resized.disconnect();
      drawn.current = null;
      chart.destroy();
    };
  }, [theme, props.window, props.cursor]);
  useEffect(() => {
    const chart = drawn.current;
    if (chart === null) return;
    chart.data.datasets = datasetsOf(props.lines, themeNow());
    showWindow(chart, props);
  }, [props.lines, props.from, props.to, props.limits, props.nights, props.marks, props.hatched]);
  return (
    <div class={`plot is-${props.height}`}>
      <canvas ref={canvas} role="img" aria-label={props.label} />
      <div ref={line} class="reading-line no-print" hidden />
    </div>
  );
}

const windowOf = (props: PlotProps): Window => props.window?.peek() ?? props;

function showWindow(chart: Chart<'line'>, props: PlotProps): void {
  const { from, to } = windowOf(props);
  const x = chart.options.scales!.x!;
  x.min = from;
  x.max = to;
  chart.update('none');
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

const strokes = {
  plain: { borderWidth: 1.5, borderDash: [] },
  bold: { borderWidth: 2.5, borderDash: [] },
  dashed: { borderWidth: 1.8, borderDash: [6, 4] },
  dotted: { borderWidth: 2, borderDash: [2, 3] },
  none: { borderWidth: 0, borderDash: [] },
  dots: { borderWidth: 0, borderDash: [] },
};

const shades = { 'to-previous': 0.18, 'paler-to-previous': 0.08 } as const;

/** A colour thinned in the notation that every reader of SVG knows; a colour of the system, in forced colours, as it is. */
function faded(colour: string, share: number): string {
  const hex = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(colour);
  if (hex === null) return `color-mix(in srgb, ${colour} ${100 * share}%, transparent)`;
  return `rgba(${hex
    .slice(1)
    .map((part) => Number.parseInt(part, 16))
    .join(', ')}, ${share})`;
}

const datasetsOf = (lines: readonly PlotLine[], theme: Theme): ChartDataset<'line', ChartPoint[]>[] =>
  lines.map((line) => ({
    data: line.points as ChartPoint[],
    borderColor: theme[line.ink],
    backgroundColor:
      line.stroke === 'dots' ? theme[line.ink] : faded(theme[line.ink], shades[line.shade ?? 'to-previous']),
    fill: line.shade === undefined ? false : '-1',
    pointRadius: line.stroke === 'dots' ? 1.8 : 0,
    pointHitRadius: 0,
    pointBorderWidth: 0,
    showLine: line.stroke !== 'dots',
    spanGaps: false,
    ...strokes[line.stroke],
  }));

/** `props` is asked at every drawing, so that what changed is drawn without a new chart. */
function configOf(props: () => PlotProps, theme: Theme): ChartConfiguration<'line', ChartPoint[]> {
  let labels = new Map<number, string>();
  const hasMarks = (props().marks?.length ?? 0) > 0;

  const { from, to } = windowOf(props());
  return {
    type: 'line',
    data: { datasets: datasetsOf(props().lines, theme) },
    options: {
      parsing: false,
      normalized: true,
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
          ...(props().least === undefined ? {} : { suggestedMin: props().least! }),
          ...(props().greatest === undefined ? {} : { suggestedMax: props().greatest! }),
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
    plugins: [under(props, theme), over(props, theme)],
  };
}

/** As many digits as the steps of an axis need. */
function digitsOf(ticks: readonly { readonly value: number }[]): number {
  const step = Math.abs((ticks[1]?.value ?? 1) - (ticks[0]?.value ?? 0));
  return step > 0 && step < 1 ? Math.ceil(-Math.log10(step)) : 0;
}

/** Nights and works, under everything else. */
const under = (props: () => PlotProps, theme: Theme): Plugin<'line'> => ({
  id: 'under',
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
    ctx.restore();
  },
});

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
    const byRank = [...(props().marks ?? [])].sort((a, b) => a.kind.localeCompare(b.kind) || a.at - b.at);
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

/**
 * The chart as it is shown, drawn anew into any canvas of a size in CSS pixels; for files. Chart.js keeps lines as ready
 * paths, which a canvas that makes SVG does not know; lines that may differ by segment it draws command by command.
 */
export function drawInto(
  canvas: HTMLCanvasElement,
  props: PlotProps,
  width: number,
  height: number,
  ratio: number,
  lines: 'as usual' | 'by path commands',
): Chart<'line'> {
  const config = configOf(() => props, themeNow());
  const datasets =
    lines === 'as usual' ? config.data.datasets : config.data.datasets.map((dataset) => ({ ...dataset, segment: {} }));
  canvas.width = width * ratio;
  canvas.height = height * ratio;
  return new Chart(canvas, {
    ...config,
    data: { datasets },
    platform: BasicPlatform,
    options: { ...config.options, responsive: false, devicePixelRatio: ratio },
  });
}
