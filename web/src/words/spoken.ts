import type { Preferences } from '../preferences.ts';
import type * as english from './english.ts';
import type * as englishMore from './english-more.ts';
import type { Same } from './same.ts';

/** What the first screen says, and what comes right after it for the others. */
export type FirstWords = Same<typeof english>;
export type MoreWords = Same<typeof englishMore>;

/** Languages the page speaks, each with its catalogue of two parts. Only the reader's is fetched. */
const catalogues = {
  en: { first: () => import('./english.ts'), more: () => import('./english-more.ts') },
  de: { first: () => import('./german.ts'), more: () => import('./german-more.ts') },
} as const satisfies Record<string, { first: () => Promise<FirstWords>; more: () => Promise<MoreWords> }>;

type Language = keyof typeof catalogues;

const isSpoken = (language: string): language is Language => Object.hasOwn(catalogues, language);

/** `de` of `de-AT` */
export const languageOf = (tag: string): string => tag.split('-')[0]!.toLowerCase();

/**
 * The language and country a reader is written to in, as a BCP 47 tag: what was chosen, else the first of those the
 * browser asks for that the page speaks, else British English.
 */
export const readerTag = (
  chosen: Preferences['language'],
  wanted: readonly string[] = typeof navigator === 'undefined' ? [] : navigator.languages,
): string => (chosen === 'browser' ? (wanted.find((tag) => isSpoken(languageOf(tag))) ?? 'en-GB') : chosen);

let first: FirstWords | null = null;
let more: MoreWords | null = null;
let spoken = 'en-GB';

const catalogueOf = (tag: string) => catalogues[languageOf(tag) as Language] ?? catalogues.en;

/** Fetches the words of the first screen. Whatever speaks may only be loaded after. */
export async function speak(tag: string): Promise<void> {
  spoken = tag;
  first = await catalogueOf(tag).first();
}

/** Fetches the words of all other screens, once. */
export async function speakMore(): Promise<void> {
  more ??= await catalogueOf(spoken).more();
}

/** How numbers and dates are written: as the reader chose, as far as that is of the language the page speaks. */
export function writtenTag(chosen: Preferences['language']): string {
  const tag = readerTag(chosen);
  return languageOf(tag) === languageOf(spoken) ? tag : spoken;
}

const arrived = <T>(words: T | null): T => {
  if (words === null) throw new Error('words were asked for before they were fetched');
  return words;
};

export const firstWords = (): FirstWords => arrived(first);
export const moreWords = (): MoreWords => arrived(more);
