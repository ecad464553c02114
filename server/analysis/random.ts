/** A stream of pseudo-random numbers that depends on its seed alone. */
export interface RandomStream {
  /** uniform in [0, 1) */
  uniform(): number;
  /** standard normal */
  normal(): number;
  /** uniform whole number in [0, below) */
  whole(below: number): number;
}

/**
 * A stream for one purpose. Streams of different names are unrelated, so that adding or reordering places leaves the
 * draws of the others alone.
 *
 * @param seed any whole number
 * @param name what the draws are for
 * @source generator: sfc32 (C. Doty-Humphrey, PractRand); seeding by 32-bit FNV-1a
 */
export function randomStream(seed: number, name: string): RandomStream {
  let hash = 0x811c9dc5;
  const take = (byte: number): void => {
    hash = Math.imul(hash ^ byte, 0x01000193);
  };
  for (let k = 0; k < 4; k++) take((seed >>> (8 * k)) & 0xff);
  for (let k = 0; k < name.length; k++) take(name.charCodeAt(k) & 0xff);
  let a = hash | 0;
  let b = (hash ^ 0x9e3779b9) | 0;
  let c = Math.imul(hash, 0x85ebca6b) | 0;
  let counter = 1;
  const next = (): number => {
    const sum = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = ((c << 21) | (c >>> 11)) + sum;
    c |= 0;
    return sum >>> 0;
  };
  for (let k = 0; k < 12; k++) next();
  const uniform = (): number => next() / 4294967296;
  let spare = Number.NaN;
  return {
    uniform,
    normal() {
      if (!Number.isNaN(spare)) {
        const value = spare;
        spare = Number.NaN;
        return value;
      }
      for (;;) {
        const x = 2 * uniform() - 1;
        const y = 2 * uniform() - 1;
        const square = x * x + y * y;
        if (square >= 1 || square === 0) continue;
        const factor = Math.sqrt((-2 * Math.log(square)) / square);
        spare = y * factor;
        return x * factor;
      }
    },
    whole: (below) => Math.floor(uniform() * below),
  };
}
