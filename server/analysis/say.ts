import type { Estimate } from './assessment.ts';

/** Numbers as people read them in a sentence. The only place in the analysis where figures are rounded for words. */

export const fixed = (value: number, digits: number): string => {
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? `-${text}` : text;
};

/** `0.52 (0.49 to 0.55)` */
export const withInterval = ({ value, low, high }: Estimate, digits: number): string =>
  `${fixed(value, digits)} (${fixed(low, digits)} to ${fixed(high, digits)})`;

export const plural = (count: number, one: string, many: string): string =>
  `${fixed(count, 0)} ${fixed(count, 0) === '1' ? one : many}`;

/** The first letter made large. */
export const sentence = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
