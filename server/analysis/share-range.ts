/** 0.975 quantile of the normal distribution. */
const Z = 1.959964;

/** The ends of an interval, both included. */
export interface ShareRange {
  readonly low: number;
  readonly high: number;
}

/**
 * 95 % interval of a share that was seen in a count of independent cases; holds for few cases and for shares of 0 and 1.
 * null: there was no case. Nights follow each other, so the true interval is somewhat wider.
 *
 * @source Wilson (1927), J. American Statistical Association 22, 209-212
 */
export function shareRange(part: number, whole: number): ShareRange | null {
  if (!(whole > 0)) return null;
  const share = part / whole;
  const middle = share + (Z * Z) / (2 * whole);
  const half = Z * Math.sqrt((share * (1 - share)) / whole + (Z * Z) / (4 * whole * whole));
  const scale = 1 + (Z * Z) / whole;
  return { low: Math.max(0, (middle - half) / scale), high: Math.min(1, (middle + half) / scale) };
}
