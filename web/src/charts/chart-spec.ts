import type { PlotLimit } from './plot-parts.ts';
import type { Trace } from './trace.ts';
import type { Window } from './window.ts';

/** One chart of a group. */
export interface ChartSpec {
  readonly title: string;
  readonly explain?: string;
  readonly traces: readonly Trace[];
  readonly unit: string;
  readonly digits: number;
  readonly limits?: readonly PlotLimit[];
  readonly least?: number;
  readonly greatest?: number;
  /** the same traces as fine as they are known, for a file; left out: as they are drawn */
  readonly finest?: (window: Window) => Promise<readonly Trace[]>;
}
