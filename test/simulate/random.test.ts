import { describe, expect, test } from 'vitest';
import { gaussianAt, nextWord, randomStream, seedOf, smoothNoise, uniformAt } from '../../server/simulate/random.ts';

const mean = (values: number[]): number => values.reduce((sum, one) => sum + one, 0) / values.length;
const deviation = (values: number[]): number => {
  const middle = mean(values);
  return Math.sqrt(mean(values.map((one) => (one - middle) ** 2)));
};

describe('random numbers', () => {
  test('come as the authors of xoshiro128** print them for the state 1, 2, 3, 4', () => {
    // first ten words of the reference C program by Blackman & Vigna from that state, as quoted in the test of the Rust
    // crate rand_xoshiro (from memory; the fifth is not remembered surely and left out: each word depends on all before)
    const state = Uint32Array.of(1, 2, 3, 4);
    const words = Array.from({ length: 10 }, () => nextWord(state));
    words.splice(4, 1);
    expect(words).toEqual([11520, 0, 5927040, 70819200, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804]);
  });

  test('are the same for the same seed and name and different for another', () => {
    const draw = (seed: number, name: string): number[] => {
      const stream = randomStream(seed, name);
      return Array.from({ length: 5 }, () => stream.gaussian());
    };
    expect(draw(7, 'loft')).toEqual(draw(7, 'loft'));
    expect(draw(7, 'loft')).not.toEqual(draw(8, 'loft'));
    expect(draw(7, 'loft')).not.toEqual(draw(7, 'lofu'));
    expect(() => randomStream(0.5, 'loft')).toThrow(RangeError);
  });

  const count = 40_000;
  const stream = randomStream(1, 'moments');
  const seed = seedOf(1, 'moments');
  const makers: [string, () => number, (index: number) => number][] = [
    ['drawn in order', () => stream.gaussian(), () => stream.uniform()],
    ['had by index', () => 0, (index) => uniformAt(seed, index)],
  ];
  test.each(makers)('are normal and even, %s', (kind, gaussian, uniform) => {
    const normals = Array.from({ length: count }, (_, index) =>
      kind === 'had by index' ? gaussianAt(seed, index) : gaussian(),
    );
    const evens = Array.from({ length: count }, (_, index) => uniform(index));
    // four standard errors: 1/sqrt(n) of a mean, 1/sqrt(2n) of a deviation, sqrt(p(1-p)/n) of a share
    const error = 4 / Math.sqrt(count);
    expect(Math.abs(mean(normals))).toBeLessThan(error);
    expect(Math.abs(deviation(normals) - 1)).toBeLessThan(error);
    expect(Math.abs(mean(evens) - 0.5)).toBeLessThan(error * 0.29);
    const beyond = normals.filter((one) => Math.abs(one) > 1.96).length / count;
    expect(Math.abs(beyond - 0.05)).toBeLessThan(4 * Math.sqrt((0.05 * 0.95) / count));
    // neighbours know nothing of each other
    const products = normals.slice(1).map((one, index) => one * normals[index]!);
    expect(Math.abs(mean(products))).toBeLessThan(error);
  });

  test('make smooth noise of standard deviation 1 that forgets itself after two lengths', () => {
    const seedHere = seedOf(3, 'weather');
    const values = Array.from({ length: 60_000 }, (_, index) => smoothNoise(seedHere, index / 3));
    // a third as many independent values, times four standard errors
    expect(Math.abs(mean(values))).toBeLessThan(4 / Math.sqrt(20_000));
    expect(Math.abs(deviation(values) - 1)).toBeLessThan(4 / Math.sqrt(20_000));
    const later = values.slice(6).map((one, index) => one * values[index]!);
    expect(Math.abs(mean(later))).toBeLessThan(4 / Math.sqrt(20_000));
    const soon = values.slice(1).map((one, index) => one * values[index]!);
    expect(mean(soon)).toBeGreaterThan(0.6);
  });
});
