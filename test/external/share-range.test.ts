import { describe, expect, it } from 'vitest';
import { shareRange } from '../../server/analysis/share-range.ts';

/**
 * Wilson's score intervals of four counts, as printed.
 *
 * @source Newcombe (1998), Statistics in Medicine 17, 857-872, table I, method 3 (from memory)
 */
const printed = [
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
] as const;

describe('the interval of a share', () => {
  it.each(printed)('of %i in %i is %f to %f', (part, whole, low, high) => {
    const range = shareRange(part, whole)!;
    expect(range.low).toBeCloseTo(low, 4);
    expect(range.high).toBeCloseTo(high, 4);
  });

  it('mirrors when what did not happen is counted, and is not said of nothing', () => {
    const [of, not] = [shareRange(7, 9)!, shareRange(2, 9)!];
    expect(of.low).toBeCloseTo(1 - not.high, 12);
    expect(of.high).toBeCloseTo(1 - not.low, 12);
    expect(shareRange(0, 0)).toBeNull();
  });
});
