import { drawInto, type PlotProps } from './plot.tsx';
import { svgCanvas } from './svg-canvas.ts';
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
  const drawn = drawInto(chart, props, width, height, ratio, 'short');
  ctx.drawImage(chart, 0, PICTURE.title, width, height);
  drawn.destroy();
  return new Promise((resolve, reject) => {
    sheet.toBlob((blob) => (blob === null ? reject(new Error('no picture was made')) : resolve(blob)), 'image/png');
  });
}

/** The chart as an SVG drawing: lines and text, not pixels. */
export function svgOf(props: PlotProps, title: string): Blob {
  const { width, height } = PICTURE;
  const { context, text } = svgCanvas(width, height + PICTURE.title);
  paper(context, title);
  context.translate(0, PICTURE.title);
  drawInto(context.canvas, props, width, height, 1, 'whole').destroy();
  return new Blob([text()], { type: SVG_TYPE });
}

function paper(ctx: CanvasRenderingContext2D, title: string): void {
  const theme = themeNow();
  ctx.fillStyle = theme.paper;
  ctx.fillRect(0, 0, PICTURE.width, PICTURE.height + PICTURE.title);
  ctx.fillStyle = theme.ink;
  ctx.font = `16px ${theme.font}`;
  ctx.fillText(title, 12, 28);
}
