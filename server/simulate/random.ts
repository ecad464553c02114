/**
 * A stream of repeatable random numbers: the same seed and name give the same numbers on any machine. Streams of
 * different names do not touch each other, so that drawing more from one leaves the others as they were.
 */
export interface RandomStream {
  /** even in [0, 1), 32 bits of it random */
  uniform(): number;
  /** of the standard normal distribution */
  gaussian(): number;
}

const rotate = (value: number, by: number): number => (value << by) | (value >>> (32 - by));

/**
 * The next 32-bit number of xoshiro128**, and the four words of its state moved on in place.
 *
 * @source Blackman & Vigna (2021), Scrambled linear pseudorandom number generators, ACM Trans. Math. Software 47, 36
 */
export function nextWord(state: Uint32Array): number {
  const word = Math.imul(rotate(Math.imul(state[1]!, 5), 7), 9) >>> 0;
  const shifted = state[1]! << 9;
  state[2]! ^= state[0]!;
  state[3]! ^= state[1]!;
  state[1]! ^= state[2]!;
  state[0]! ^= state[3]!;
  state[2]! ^= shifted;
  state[3] = rotate(state[3]!, 11);
  return word;
}

/**
 * Mixes 32 bits so that each bit of the result depends on all of them.
 *
 * @source the finaliser of MurmurHash3 (A. Appleby, public domain)
 */
function mix(value: number): number {
  let bits = value ^ (value >>> 16);
  bits = Math.imul(bits, 0x85ebca6b);
  bits ^= bits >>> 13;
  bits = Math.imul(bits, 0xc2b2ae35);
  return (bits ^ (bits >>> 16)) >>> 0;
}

/** A 32-bit number that stands for a seed and a name. FNV-1a over the name, mixed with the seed. */
export function seedOf(seed: number, name: string): number {
  let bits = 0x811c9dc5;
  for (let index = 0; index < name.length; index += 1) {
    bits = Math.imul(bits ^ name.charCodeAt(index), 0x01000193);
  }
  return mix(mix(bits) ^ mix((seed >>> 0) + 0x9e3779b9) ^ mix(Math.floor(seed / 2 ** 32) + 0x3c6ef372));
}

/** Normal deviate from two even ones. @source Box & Muller (1958), Ann. Math. Statist. 29, 610-611 */
const normal = (one: number, two: number): number => Math.sqrt(-2 * Math.log(1 - one)) * Math.cos(2 * Math.PI * two);

/** @param seed any safe integer */
export function randomStream(seed: number, name: string): RandomStream {
  if (!Number.isSafeInteger(seed)) throw new RangeError(`seed is ${seed}; it must be a whole number`);
  const state = new Uint32Array(4);
  let bits = seedOf(seed, name);
  for (let word = 0; word < 4; word += 1) {
    bits = (bits + 0x9e3779b9) >>> 0;
    state[word] = mix(bits);
  }
  state[0]! |= 1; // all zero is the one state that never leaves itself
  const uniform = (): number => nextWord(state) / 2 ** 32;
  return { uniform, gaussian: () => normal(uniform(), uniform()) };
}

/** Normal deviate that belongs to an index: any one can be had without those before it. `seed` from {@link seedOf}. */
export function gaussianAt(seed: number, index: number): number {
  const base = mix(seed ^ mix(index >>> 0) ^ mix(Math.floor(index / 2 ** 32) + 0x51ed270b));
  return normal(mix(base ^ 0x68bc21eb) / 2 ** 32, mix(base ^ 0x02e5be93) / 2 ** 32);
}

/** Even deviate in [0, 1) that belongs to an index. `seed` from {@link seedOf}. */
export function uniformAt(seed: number, index: number): number {
  return mix(mix(seed ^ mix(index >>> 0) ^ mix(Math.floor(index / 2 ** 32) + 0x51ed270b)) ^ 0x68bc21eb) / 2 ** 32;
}

/**
 * Smooth noise of mean 0 and standard deviation 1 at position `x`, alike over a distance of about 1: normal deviates
 * stand at the whole numbers and are blended by a raised cosine, scaled so that the variance is the same everywhere.
 */
export function smoothNoise(seed: number, x: number): number {
  const before = Math.floor(x);
  const share = (1 - Math.cos(Math.PI * (x - before))) / 2;
  const blend = (1 - share) * gaussianAt(seed, before) + share * gaussianAt(seed, before + 1);
  return blend / Math.hypot(1 - share, share);
}
