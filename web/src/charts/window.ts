/** What part of an axis is shown. Instants in UTC milliseconds, or days of a winter. */
export interface Window {
  readonly from: number;
  readonly to: number;
}

/** How far a window may go: as far as anything is known, and no closer than makes sense. */
export interface Limits extends Window {
  /** least width */
  readonly narrowest: number;
}

const widthOf = ({ from, to }: Window): number => to - from;

/** The window, no wider than the limits, no closer than they allow, and inside them. */
export function within(window: Window, limits: Limits): Window {
  const most = Math.max(widthOf(limits), limits.narrowest);
  const width = Math.min(Math.max(widthOf(window), limits.narrowest), most);
  const middle = (window.from + window.to) / 2;
  const wanted = width === widthOf(window) ? window.from : middle - width / 2;
  const from = Math.max(limits.from, Math.min(wanted, limits.from + most - width));
  return { from, to: from + width };
}

/** Moved by so much of the axis. */
export const moved = (window: Window, by: number, limits: Limits): Window =>
  within({ from: window.from + by, to: window.to + by }, limits);

/** Closer (`factor` below 1) or wider, with `at` staying where it is on the screen. */
export function zoomed(window: Window, factor: number, at: number, limits: Limits): Window {
  const most = Math.max(widthOf(limits), limits.narrowest);
  const width = Math.min(Math.max(widthOf(window) * factor, limits.narrowest), most);
  const share = (at - window.from) / widthOf(window);
  const from = at - share * width;
  return within({ from, to: from + width }, limits);
}

/** Two points of the axis drawn to two places of the screen, 0 to 1 from left to right: what two fingers do. */
export function pinched(
  at: readonly [number, number],
  shares: readonly [number, number],
  limits: Limits,
): Window | null {
  const between = shares[1] - shares[0];
  if (Math.abs(between) < 0.01) return null;
  const width = (at[1] - at[0]) / between;
  if (!(width > 0)) return null;
  const from = at[0] - shares[0] * width;
  return within({ from, to: from + width }, limits);
}
