import { firstWords } from './spoken.ts';

/** What every screen says, in the reader's language. */
export const words = firstWords().words;

/** The kind of a diary entry in words; kinds that others made up are shown as they are. */
export const diaryKind = (kind: string): string =>
  (words.diary.kinds as Readonly<Record<string, string | undefined>>)[kind] ?? kind;
