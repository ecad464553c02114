import { en } from './en.ts';

/** Everything the page says. A second language is another catalogue of this shape. */
export type Catalogue = typeof en;

export const words: Catalogue = en;
