import { escaped } from '../../words/escaped.ts';
import { inks, runs, type Scene, type Shape } from './scene.ts';

const px = (value: number): string => String(Math.round(value * 100) / 100);
const path = (run: readonly number[]): string =>
  run.map((value, i) => `${i % 2 === 1 ? ' ' : i === 0 ? 'M' : 'L'}${px(value)}`).join('');

/** A scene as an SVG element that needs nothing from elsewhere. */
export function toSvg(scene: Scene): string {
  const { width, height, alt } = scene;
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="${escaped(alt)}" ` +
    `viewBox="0 0 ${px(width)} ${px(height)}" width="${px(width)}" height="${px(height)}">${scene.shapes.map(shape).join('')}</svg>`
  );
}

function shape(one: Shape): string {
  switch (one.kind) {
    case 'line': {
      const dash = one.dash === undefined ? '' : ` stroke-dasharray="${one.dash.map(px).join(' ')}"`;
      return `<path d="${runs(one.points).map(path).join('')}" fill="none" stroke="${inks[one.ink]}" stroke-width="${px(one.width ?? 1)}"${dash} stroke-linejoin="round"/>`;
    }
    case 'area': {
      const edge = one.edge === undefined ? '' : ` stroke="${inks[one.edge]}" stroke-width="0.5"`;
      return `<path d="${runs(one.points)
        .map((run) => `${path(run)}Z`)
        .join('')}" fill="${inks[one.ink]}"${edge}/>`;
    }
    case 'dot':
      return `<circle cx="${px(one.x)}" cy="${px(one.y)}" r="${px(one.radius)}" fill="${inks[one.ink]}"/>`;
    case 'text': {
      const bold = one.bold ? ' font-weight="bold"' : '';
      return `<text x="${px(one.x)}" y="${px(one.y)}" font-size="${px(one.size ?? 8)}" fill="${inks[one.ink ?? 'ink']}" text-anchor="${one.anchor ?? 'start'}"${bold}>${escaped(one.text)}</text>`;
    }
  }
}
