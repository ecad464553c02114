/**
 * A canvas that keeps what is drawn on it as SVG: as much of a canvas as charts are drawn with. Own code, for the libraries
 * that do this set style attributes, which the page's policy does not allow.
 */
export interface SvgCanvas {
  readonly context: CanvasRenderingContext2D;
  readonly text: () => string;
}

/** What a canvas saves and restores, and how SVG names it. */
interface Pen {
  fillStyle: string;
  strokeStyle: string;
  lineWidth: number;
  lineCap: string;
  lineJoin: string;
  font: string;
  textAlign: string;
  textBaseline: string;
  globalAlpha: number;
  dash: readonly number[];
  lineDashOffset: number;
  /** moved by so much; charts with level text turn nothing */
  x: number;
  y: number;
  /** name of the shape that is drawn within; null: anywhere */
  clip: string | null;
}

const firstPen: Pen = {
  fillStyle: '#000',
  strokeStyle: '#000',
  lineWidth: 1,
  lineCap: 'butt',
  lineJoin: 'miter',
  font: '10px sans-serif',
  textAlign: 'start',
  textBaseline: 'alphabetic',
  globalAlpha: 1,
  dash: [],
  lineDashOffset: 0,
  x: 0,
  y: 0,
  clip: null,
};

const anchors: Readonly<Record<string, string>> = { center: 'middle', right: 'end', end: 'end' };
const baselines: Readonly<Record<string, string>> = {
  middle: 'central',
  top: 'hanging',
  hanging: 'hanging',
  bottom: 'auto',
};

const escaped = (text: string): string =>
  text.replace(/[&<>"]/g, (sign) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[sign]!);
const short = (value: number): string => String(Math.round(value * 100) / 100);

/**
 * @param width CSS pixels; likewise `height`
 * @param name what the names of its shapes begin with: no two drawings on one page may share it
 */
export function svgCanvas(width: number, height: number, name = 'chart'): SvgCanvas {
  const measure = document.createElement('canvas').getContext('2d')!;
  const shapes: string[] = [];
  const drawn: string[] = [];
  const saved: Pen[] = [];
  let pen: Pen = { ...firstPen };
  let path: string[] = [];

  const at = (x: number, y: number): string => `${short(x + pen.x)} ${short(y + pen.y)}`;
  const add = (tag: string, attributes: Readonly<Record<string, string | number>>, text = ''): void => {
    const all = {
      ...attributes,
      ...(pen.globalAlpha === 1 ? {} : { opacity: pen.globalAlpha }),
      ...(pen.clip === null ? {} : { 'clip-path': `url(#${pen.clip})` }),
    };
    const written = Object.entries(all).map(([name, value]) => `${name}="${escaped(String(value))}"`);
    drawn.push(`<${tag} ${written.join(' ')}${text === '' ? '/>' : `>${escaped(text)}</${tag}>`}`);
  };
  const filled = () => ({ fill: pen.fillStyle });
  const stroked = () => ({
    fill: 'none',
    stroke: pen.strokeStyle,
    'stroke-width': pen.lineWidth,
    'stroke-linecap': pen.lineCap,
    'stroke-linejoin': pen.lineJoin,
    ...(pen.dash.length === 0
      ? {}
      : { 'stroke-dasharray': pen.dash.join(' '), 'stroke-dashoffset': pen.lineDashOffset }),
  });
  const say = (text: string, x: number, y: number, paint: Readonly<Record<string, string | number>>): void => {
    const font = /(?:(italic) )?(?:(\d+|bold) )?(?:.*?)([\d.]+)px(?:\/\S+)? (.*)/.exec(pen.font);
    add(
      'text',
      {
        x: short(x + pen.x),
        y: short(y + pen.y),
        'font-size': font?.[3] ?? 12,
        'font-family': font?.[4] ?? 'sans-serif',
        'text-anchor': anchors[pen.textAlign] ?? 'start',
        'dominant-baseline': baselines[pen.textBaseline] ?? 'auto',
        ...paint,
      },
      text,
    );
  };
  const box = (x: number, y: number, w: number, h: number): string =>
    `M${at(x, y)}L${at(x + w, y)}L${at(x + w, y + h)}L${at(x, y + h)}Z`;

  const commands = {
    save: () => saved.push({ ...pen }),
    restore: () => {
      pen = saved.pop() ?? pen;
    },
    beginPath: () => {
      path = [];
    },
    closePath: () => path.push('Z'),
    moveTo: (x: number, y: number) => path.push(`M${at(x, y)}`),
    lineTo: (x: number, y: number) => path.push(`${path.length === 0 ? 'M' : 'L'}${at(x, y)}`),
    bezierCurveTo: (a: number, b: number, c: number, d: number, x: number, y: number) =>
      path.push(`C${at(a, b)} ${at(c, d)} ${at(x, y)}`),
    rect: (x: number, y: number, w: number, h: number) => path.push(box(x, y, w, h)),
    // charts draw whole circles alone
    arc: (x: number, y: number, r: number) =>
      path.push(
        `M${at(x - r, y)}a${short(r)} ${short(r)} 0 1 0 ${short(2 * r)} 0a${short(r)} ${short(r)} 0 1 0 ${short(-2 * r)} 0`,
      ),
    clip: () => {
      const outer = pen.clip === null ? '' : ` clip-path="url(#${pen.clip})"`;
      const shape = `${name}-within-${shapes.length + 1}`;
      shapes.push(`<clipPath id="${shape}"${outer}><path d="${path.join('')}"/></clipPath>`);
      pen.clip = shape;
    },
    fill: () => path.length > 0 && add('path', { d: path.join(''), ...filled() }),
    stroke: () => path.length > 0 && add('path', { d: path.join(''), ...stroked() }),
    fillRect: (x: number, y: number, w: number, h: number) => add('path', { d: box(x, y, w, h), ...filled() }),
    strokeRect: (x: number, y: number, w: number, h: number) => add('path', { d: box(x, y, w, h), ...stroked() }),
    fillText: (text: string, x: number, y: number) => say(text, x, y, filled()),
    strokeText: (text: string, x: number, y: number) => say(text, x, y, stroked()),
    measureText: (text: string) => {
      measure.font = pen.font;
      return measure.measureText(text);
    },
    setLineDash: (dash: readonly number[]) => {
      pen.dash = [...dash];
    },
    getLineDash: () => [...pen.dash],
    translate: (x: number, y: number) => {
      pen.x += x;
      pen.y += y;
    },
    rotate: (angle: number) => {
      if (angle !== 0) throw new Error('turned text is not drawn');
    },
    // a new chart clears its canvas and sets its scale: what stands on the sheet stays
    clearRect: () => {},
    setTransform: () => {},
    resetTransform: () => {},
    canvas: { width, height, style: {} },
  };
  const context = new Proxy(commands, {
    get: (known, name) => (name in known ? Reflect.get(known, name) : Reflect.get(pen, name)),
    set: (_, name, value) => Reflect.set(pen, name, value),
    has: (known, name) => name in known || name in pen,
  }) as unknown as CanvasRenderingContext2D;
  Object.assign(commands.canvas, { getContext: () => context });
  return {
    context,
    text: () =>
      `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}"><defs>${shapes.join('')}</defs>${drawn.join('\n')}</svg>`,
  };
}
