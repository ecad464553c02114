/**
 * A drawing as shapes in points (1/72 inch), x to the right, y down: the same scene becomes SVG in the page and vectors in
 * the PDF. Readable without colour: lines differ by dash and weight, areas by shade.
 */
export interface Scene {
  readonly width: number;
  readonly height: number;
  /** says in words what the drawing shows, for who cannot see it */
  readonly alt: string;
  readonly shapes: readonly Shape[];
}

export type Ink = 'ink' | 'soft' | 'hair' | 'accent' | 'air' | 'shade' | 'tint' | 'paper';

/** The inks of the page, as in the light theme of the screen. */
export const inks: Readonly<Record<Ink, string>> = Object.freeze({
  ink: '#1b2830',
  soft: '#4a5961',
  hair: '#cfc5ae',
  accent: '#9a4f1a',
  air: '#37657f',
  shade: '#e9e5da',
  tint: '#f3cbb0',
  paper: '#ffffff',
});

export type Shape =
  | {
      readonly kind: 'line';
      /** x, y, x, y ...; NaN lifts the pen: a gap stays a gap */
      readonly points: readonly number[];
      readonly ink: Ink;
      readonly width?: number;
      readonly dash?: readonly number[];
    }
  | { readonly kind: 'area'; readonly points: readonly number[]; readonly ink: Ink; readonly edge?: Ink }
  | { readonly kind: 'dot'; readonly x: number; readonly y: number; readonly radius: number; readonly ink: Ink }
  | {
      readonly kind: 'text';
      readonly x: number;
      /** of the baseline */
      readonly y: number;
      readonly text: string;
      readonly size?: number;
      readonly ink?: Ink;
      readonly anchor?: 'start' | 'middle' | 'end';
      readonly bold?: boolean;
    };

/** The runs of a line between gaps, each at least two points long or a single point. */
export function runs(points: readonly number[]): number[][] {
  const out: number[][] = [];
  let run: number[] = [];
  for (let i = 0; i + 1 < points.length; i += 2) {
    const x = points[i]!;
    const y = points[i + 1]!;
    if (Number.isFinite(x) && Number.isFinite(y)) {
      if (run.length === 0) out.push(run);
      run.push(x, y);
    } else run = [];
  }
  return out;
}
