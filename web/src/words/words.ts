import { en } from './en.ts';

/** Everything the page says. A second language is another catalogue of this shape. */
export type Catalogue = typeof en;

export const words: Catalogue = en;

/** The kind of a diary entry in words; kinds that others made up are shown as they are. */
export const diaryKind = (kind: string): string =>
  (words.diary.kinds as Readonly<Record<string, string | undefined>>)[kind] ?? kind;
