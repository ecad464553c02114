import { Context } from 'svgcanvas';
import { drawInto, type PlotProps } from './plot.tsx';
import { themeNow } from './theme.ts';

/** Size of a chart in a file, CSS pixels, and the room above it for its title. */
const PICTURE = { width: 1000, height: 380, title: 44, ratio: 2 } as const;
const SVG_TYPE = 'image/svg+xml';

/** The chart as a PNG picture with its title on the page's own paper. */
export async function pngOf(props: PlotProps, title: string): Promise<Blob> {
  const { width, height, ratio } = PICTURE;
  const chart = document.createElement('canvas');
  const sheet = document.createElement('canvas');
  sheet.width = width * ratio;
  sheet.height = (height + PICTURE.title) * ratio;
  const ctx = sheet.getContext('2d')!;
  ctx.scale(ratio, ratio);
  paper(ctx, title);
  const drawn = drawInto(chart, props, width, height, ratio);
  ctx.drawImage(chart, 0, PICTURE.title, width, height);
  drawn.destroy();
  return new Promise((resolve, reject) => {
    sheet.toBlob((blob) => (blob === null ? reject(new Error('no picture was made')) : resolve(blob)), 'image/png');
  });
}

/** The chart as an SVG drawing: lines and text, not pixels. */
export function svgOf(props: PlotProps, title: string): Blob {
  const { width, height } = PICTURE;
  const ctx = new Context({ width, height: height + PICTURE.title, document });
  paper(ctx, title);
  ctx.translate(0, PICTURE.title);
  const canvas = { width, height, style: {}, getContext: () => ctx } as unknown as HTMLCanvasElement;
  Object.defineProperty(ctx, 'canvas', { value: canvas, configurable: true });
  // a fresh chart clears its canvas and sets its scale: neither may undo the title
  ctx.clearRect = () => {};
  ctx.setTransform = () => {};
  ctx.resetTransform = () => {};
  drawInto(canvas, props, width, height, 1).destroy();
  return new Blob([ctx.getSerializedSvg(true)], { type: SVG_TYPE });
}

function paper(ctx: CanvasRenderingContext2D, title: string): void {
  const theme = themeNow();
  ctx.fillStyle = theme.paper;
  ctx.fillRect(0, 0, PICTURE.width, PICTURE.height + PICTURE.title);
  ctx.fillStyle = theme.ink;
  ctx.font = `16px ${theme.font}`;
  ctx.fillText(title, 12, 28);
}
