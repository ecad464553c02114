/** What a chart is drawn of. */
export interface ChartPoint {
  readonly x: number;
  /** NaN: a gap */
  readonly y: number;
}

export interface PlotLine {
  readonly points: readonly ChartPoint[];
  readonly ink: 'ink' | 'inkSoft' | 'accent' | 'air';
  readonly stroke: 'plain' | 'bold' | 'dashed' | 'dotted' | 'none' | 'dots';
  /** words at the end of the line */
  readonly label?: string;
  /** shades the room between this line and the one before it */
  readonly shade?: 'to-previous' | 'paler-to-previous';
}

export interface PlotLimit {
  readonly at: number;
  readonly label: string;
}

/** A moment marked on the axis; `text` stands above it. */
export interface PlotMark {
  readonly at: number;
  /** where what begins there ends; its name stands as long as any of it is in view. Left out: it is a moment */
  readonly to?: number;
  readonly text: string;
  readonly kind: 'boundary' | 'note';
}

export interface PlotTick {
  readonly at: number;
  readonly label: string;
}
