/**
 * A distribution made of kernels, one round each member of an ensemble (kernel dressing: Roulston & Smith 2003; Bröcker &
 * Smith 2008), all normal and of one spread.
 */
export interface Mixture {
  readonly members: Float64Array;
  readonly spread: number;
}

/** Share of the distribution at or below a value. */
export function shareBelow({ members, spread }: Mixture, value: number): number {
  let sum = 0;
  for (const member of members) sum += normalBelow((value - member) / spread);
  return sum / members.length;
}

/** The value below which a share of the distribution lies, by halving. */
export function quantileOf(mixture: Mixture, share: number): number {
  let low = Math.min(...mixture.members) - 9 * mixture.spread;
  let high = Math.max(...mixture.members) + 9 * mixture.spread;
  for (let turn = 0; turn < 60; turn++) {
    const middle = (low + high) / 2;
    if (shareBelow(mixture, middle) < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Normal distribution function; error below 7.5e-8. @source Abramowitz & Stegun 26.2.17 */
function normalBelow(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}
