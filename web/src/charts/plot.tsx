import type { Signal } from '@preact/signals';
import { Chart, Filler, LinearScale, LineController, LineElement, type Plugin, PointElement } from 'chart.js';
import { useEffect, useRef } from 'preact/hooks';
import type { Stretch } from '../time/zone.ts';
import { NBSP, number } from '../words/format.ts';
import { type Theme, themeNow, themeRevision } from './theme.ts';
import type { ChartPoint } from './view-model.ts';

Chart.register(LineController, LineElement, PointElement, LinearScale, Filler);

export interface PlotLine {
  readonly points: readonly ChartPoint[];
  readonly ink: 'ink' | 'inkSoft' | 'accent' | 'air';
  readonly stroke: 'plain' | 'bold' | 'dashed' | 'none';
  /** words at the end of the line */
  readonly label?: string;
  /** shades the room between this line and the one before it */
  readonly shade?: 'to-previous';
}

export interface PlotLimit {
  readonly at: number;
  readonly label: string;
}

/** A moment marked on the axis; `text` stands above it. */
export interface PlotMark {
  readonly at: number;
  readonly text: string;
  readonly kind: 'boundary' | 'note';
}

export interface PlotTick {
  readonly at: number;
  readonly label: string;
}

export interface PlotProps {
  /** what a screen reader is told; the table behind the chart has the values */
  readonly label: string;
  readonly lines: readonly PlotLine[];
  readonly from: number;
  readonly to: number;
  readonly ticks: (most: number) => readonly PlotTick[];
  readonly unit: string;
  readonly least?: number;
  readonly greatest?: number;
  readonly limits?: readonly PlotLimit[];
  readonly nights?: readonly Stretch[];
  readonly marks?: readonly PlotMark[];
  /** where the reader points, on this axis; shared by charts that stand above each other */
  readonly cursor?: Signal<number | null>;
  readonly height: 'tall' | 'low';
}

/** A line chart as a drawing: no boxes, limits named on their lines, gaps left open. */
export function Plot(props: PlotProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const theme = themeRevision.value;
  useEffect(() => {
    if (canvas.current === null) return;
    const chart = make(canvas.current, props, themeNow());
    const forget = props.cursor?.subscribe(() => chart.draw());
    return () => {
      forget?.();
      chart.destroy();
    };
  }, [theme, props.lines, props.from, props.to, props.limits, props.nights, props.marks]);

  const point = (event: PointerEvent) => {
    const { cursor } = props;
    const drawn = canvas.current === null ? undefined : Chart.getChart(canvas.current);
    const scale = drawn?.scales.x;
    if (cursor === undefined || scale === undefined || canvas.current === null) return;
    const at = scale.getValueForPixel(event.clientX - canvas.current.getBoundingClientRect().left);
    if (at !== undefined) cursor.value = Math.min(Math.max(at, props.from), props.to);
  };
  return (
    <div class={`plot is-${props.height}`}>
      <canvas ref={canvas} role="img" aria-label={props.label} onPointerMove={point} onPointerDown={point} />
    </div>
  );
}

const strokes = {
  plain: { borderWidth: 1.5, borderDash: [] },
  bold: { borderWidth: 2.5, borderDash: [] },
  dashed: { borderWidth: 1.8, borderDash: [6, 4] },
  none: { borderWidth: 0, borderDash: [] },
};

function make(canvas: HTMLCanvasElement, props: PlotProps, theme: Theme): Chart<'line'> {
  let labels = new Map<number, string>();
  const hasMarks = (props.marks?.length ?? 0) > 0;
  const hasLabels = props.lines.some(({ label }) => label !== undefined);
  return new Chart(canvas, {
    type: 'line',
    data: {
      datasets: props.lines.map((line) => ({
        data: line.points as ChartPoint[],
        borderColor: theme[line.ink],
        backgroundColor: `color-mix(in srgb, ${theme[line.ink]} 14%, transparent)`,
        fill: line.shade === undefined ? false : '-1',
        pointRadius: 0,
        pointHitRadius: 0,
        spanGaps: false,
        ...strokes[line.stroke],
      })),
    },
    options: {
      parsing: false,
      normalized: true,
      animation: false,
      responsive: true,
      maintainAspectRatio: false,
      events: [],
      layout: { padding: { top: hasMarks ? 22 : 8, right: hasLabels ? 12 : 4 } },
      scales: {
        x: {
          type: 'linear',
          min: props.from,
          max: props.to,
          border: { color: theme.ink },
          grid: { drawOnChartArea: false, color: theme.ink, tickLength: 5 },
          afterBuildTicks: (axis) => {
            const ticks = props.ticks(Math.max(2, Math.floor(axis.width / 64)));
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
          ...(props.least === undefined ? {} : { suggestedMin: props.least }),
          ...(props.greatest === undefined ? {} : { suggestedMax: props.greatest }),
          // Charts above each other share their time axis to the pixel.
          afterFit: (axis) => {
            axis.width = 48;
          },
          border: { display: false },
          grid: { color: theme.hair, lineWidth: 0.6, drawTicks: false },
          ticks: {
            color: theme.inkSoft,
            font: { family: theme.font, size: 12 },
            maxTicksLimit: 6,
            padding: 6,
            callback: (value, i, all) =>
              `${number(Number(value), digitsOf(all))}${i === all.length - 1 ? `${NBSP}${props.unit}` : ''}`,
          },
        },
      },
    },
    plugins: [under(props, theme), over(props, theme)],
  });
}

/** As many digits as the steps of an axis need. */
function digitsOf(ticks: readonly { readonly value: number }[]): number {
  const step = Math.abs((ticks[1]?.value ?? 1) - (ticks[0]?.value ?? 0));
  return step > 0 && step < 1 ? Math.ceil(-Math.log10(step)) : 0;
}

/** Nights, under everything else. */
const under = (props: PlotProps, theme: Theme): Plugin<'line'> => ({
  id: 'under',
  beforeDatasetsDraw(chart) {
    const { ctx, chartArea: area } = chart;
    const x = chart.scales.x!;
    ctx.save();
    ctx.fillStyle = theme.night;
    for (const night of props.nights ?? []) {
      const [from, to] = [x.getPixelForValue(night.from), x.getPixelForValue(night.to)];
      ctx.fillRect(from, area.top, to - from, area.bottom - area.top);
    }
    ctx.restore();
  },
});

/** Limits with their names, marks, the names of lines, and where the reader points. */
const over = (props: PlotProps, theme: Theme): Plugin<'line'> => ({
  id: 'over',
  afterDatasetsDraw(chart) {
    const { ctx, chartArea: area } = chart;
    const x = chart.scales.x!;
    const y = chart.scales.y!;
    ctx.save();
    ctx.lineWidth = 1;
    ctx.font = `12px ${theme.font}`;
    for (const limit of props.limits ?? []) {
      const at = y.getPixelForValue(limit.at);
      if (at < area.top - 1 || at > area.bottom + 1) continue;
      ctx.strokeStyle = theme.accent;
      ctx.setLineDash([5, 4]);
      stroke(ctx, area.left, at, area.right, at);
      written(ctx, theme, limit.label, area.left + 6, at - 5, theme.accent);
    }
    let free = Number.NEGATIVE_INFINITY;
    for (const mark of [...(props.marks ?? [])].sort((a, b) => a.at - b.at)) {
      const at = x.getPixelForValue(mark.at);
      const from = Math.max(at, area.left);
      if (at > area.right) continue;
      ctx.strokeStyle = theme.inkSoft;
      ctx.setLineDash(mark.kind === 'boundary' ? [] : [1.5, 3]);
      if (at >= area.left) stroke(ctx, at, area.top - 14, at, area.bottom);
      const width = ctx.measureText(mark.text).width;
      const roomLeft = from >= free && from + width + 4 <= chart.width;
      if (!roomLeft) continue;
      ctx.fillStyle = theme.inkSoft;
      ctx.fillText(mark.text, from + 4, area.top - 7);
      free = from + width + 14;
    }
    ctx.setLineDash([]);
    const taken: number[] = [];
    for (const line of props.lines) {
      const last = line.points.findLast(({ y: value }) => Number.isFinite(value));
      if (line.label === undefined || last === undefined) continue;
      const width = ctx.measureText(line.label).width;
      const end = x.getPixelForValue(last.x);
      let height = y.getPixelForValue(last.y) - 7;
      while (taken.some((other) => Math.abs(other - height) < 15)) height -= 15;
      taken.push(height);
      const left = end + 8 + width > area.right ? Math.max(area.left, Math.min(end, area.right) - width - 4) : end + 6;
      written(ctx, theme, line.label, left, Math.max(height, area.top + 10), theme[line.ink]);
    }
    const cursor = props.cursor?.peek() ?? null;
    if (cursor !== null && cursor >= props.from && cursor <= props.to) {
      ctx.strokeStyle = theme.ink;
      ctx.lineWidth = 1;
      stroke(ctx, x.getPixelForValue(cursor), area.top, x.getPixelForValue(cursor), area.bottom);
    }
    ctx.restore();
  },
});

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
