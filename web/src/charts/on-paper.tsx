import { useEffect, useId, useRef } from 'preact/hooks';
import { drawInto, type PlotProps } from './plot.tsx';
import { svgCanvas } from './svg-canvas.ts';
import { namedTheme } from './theme.ts';

/**
 * Size of a chart on paper, CSS pixels: its letters are then as large as those beside it, for A4 and US Letter within
 * their margins are 688 and 710 wide. Three of them stand on a sheet with their headings.
 */
const SHEET = { width: 680, height: 216 } as const;

/**
 * The chart as lines and letters for the printer. What is on the screen has the screen's colours, width and pixels, and
 * may not have been drawn yet; this is drawn when printing begins, and taken away after.
 */
export function OnPaper(props: PlotProps) {
  const room = useRef<HTMLDivElement>(null);
  const latest = useRef(props);
  latest.current = props;
  const name = useId();
  useEffect(() => {
    const begin = (): void => room.current?.replaceChildren(drawn(latest.current, name));
    const end = (): void => room.current?.replaceChildren();
    const media = matchMedia('print');
    const changed = (): void => (media.matches ? begin() : end());
    addEventListener('beforeprint', begin);
    addEventListener('afterprint', end);
    media.addEventListener('change', changed);
    // printing may have begun before the chart came
    if (media.matches) begin();
    return () => {
      removeEventListener('beforeprint', begin);
      removeEventListener('afterprint', end);
      media.removeEventListener('change', changed);
    };
  }, [name]);
  return <div ref={room} class="on-paper" />;
}

function drawn(props: PlotProps, name: string): Node {
  const { width, height } = SHEET;
  const { context, text } = svgCanvas(width, height, name);
  drawInto(context.canvas, props, width, height, 1, 'whole', namedTheme()).destroy();
  const svg = new DOMParser().parseFromString(text(), 'image/svg+xml').documentElement;
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', props.label);
  return document.importNode(svg, true);
}
