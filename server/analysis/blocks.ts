import type { RandomStream } from './random.ts';

/**
 * Sums over whole nights, resampled in blocks of neighbouring nights (moving blocks, laid in a circle), so that hours
 * that resemble their neighbours are not taken for independent ones.
 *
 * @source Künsch (1989), Annals of Statistics 17, 1217-1241; Politis & Romano (1992), circular blocks
 */
export interface NightSums {
  readonly nights: number;
  /** one column per quantity, an entry per night; 0 in a night without data */
  readonly columns: readonly Float64Array[];
  /** nights that have data */
  readonly filled: number;
}

export interface ResampledSums {
  /** one column per quantity, an entry per resample */
  readonly columns: readonly Float64Array[];
  /**
   * factor by which the spread of what is worked out from the resamples falls short for want of blocks: quantile of
   * Student's t over that of the normal, and n/(n - 1)
   */
  readonly widening: number;
}

/** Block length for this many nights: never so long that fewer than seven blocks are left. */
export const blockLength = (filled: number, wanted: number): number =>
  Math.max(1, Math.min(wanted, Math.floor(filled / 7)));

const Z = 1.959964;

/** Quantile 0.975 of Student's t by the Cornish-Fisher expansion. @source Abramowitz & Stegun 26.7.5 */
function studentQuantile(freedom: number): number {
  const z2 = Z * Z;
  return (
    Z +
    (Z * (z2 + 1)) / (4 * freedom) +
    (Z * ((5 * z2 + 16) * z2 + 3)) / (96 * freedom ** 2) +
    (Z * (((3 * z2 + 19) * z2 + 17) * z2 - 15)) / (384 * freedom ** 3)
  );
}

export function resampleNights(
  sums: NightSums,
  wanted: number,
  resamples: number,
  stream: RandomStream,
): ResampledSums {
  const { nights, columns, filled } = sums;
  const length = blockLength(filled, wanted);
  const blocks = Math.max(1, Math.round(nights / length));
  const prefixes = columns.map((column) => circularSums(column, length));
  const out = columns.map(() => new Float64Array(resamples));
  for (let r = 0; r < resamples; r++) {
    for (let b = 0; b < blocks; b++) {
      const at = stream.whole(nights);
      for (let c = 0; c < out.length; c++) out[c]![r]! += prefixes[c]![at]!;
    }
  }
  const independent = Math.max(2, filled / length);
  const widening = (studentQuantile(Math.max(1, independent - 1)) / Z) * Math.sqrt(independent / (independent - 1));
  return { columns: out, widening };
}

/** Entry k: the sum of `length` entries from k on, round the circle. */
function circularSums(column: Float64Array, length: number): Float64Array {
  const out = new Float64Array(column.length);
  for (let k = 0; k < column.length; k++) {
    let sum = 0;
    for (let j = 0; j < length; j++) sum += column[(k + j) % column.length]!;
    out[k] = sum;
  }
  return out;
}
