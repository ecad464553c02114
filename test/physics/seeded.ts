/** Uniform numbers in (0, 1), the same on every machine (Park-Miller, minimal standard). */
export function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

/** Normal numbers of mean 0 and standard deviation 1 (Box and Muller). */
export function normal(seed: number): () => number {
  const uniform = seeded(seed);
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
