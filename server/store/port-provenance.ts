import type { Quantity } from '../physics/quantities.ts';
import type { New } from './port-rows.ts';

/**
 * What is kept so that a later change to readings or to the story can be seen. Days are UTC days counted from 1970;
 * digests are SHA-256 in lower-case hexadecimal. The lines that are summed up are made in `canonical.ts`.
 */

/** From when on a dwelling's days are sealed. */
export interface Sealing {
  /** null: nothing has come yet */
  readonly firstDay: number | null;
  /** the last day that was sealed; null: none yet */
  readonly lastDay: number | null;
  /** key of the digests that stand for names and notes in the journal, hexadecimal */
  readonly textKey: string;
}

/** One link of the chain: what arrived in a UTC day, and which changes were made to the story since the link before. */
export interface DaySeal {
  readonly day: number;
  readonly readings: number;
  readonly readingsDigest: string;
  /** numbers in the journal; null: no change */
  readonly firstChange: number | null;
  readonly lastChange: number | null;
  readonly changesDigest: string;
  /** entry of the link before; zeros for the first */
  readonly previous: string;
  readonly entry: string;
  readonly sealedAt: number;
}

/** What arrived of one series in a sealed day. */
export interface SeriesSeal {
  readonly day: number;
  readonly sensorId: number;
  readonly quantity: Quantity;
  readonly readings: number;
  /** times of the first and the last of these readings */
  readonly first: number;
  readonly last: number;
  readonly digest: string;
}

/** Readings of one series with `from <= time <= to` that did not arrive on their own day, or came out of a file. */
export interface Arrival {
  readonly from: number;
  readonly to: number;
  /** the day they arrived */
  readonly day: number;
  readonly importId: number | null;
}

/** A file that was read in. */
export interface ImportedFile {
  readonly id: number;
  readonly dwellingId: number;
  readonly at: number;
  readonly name: string;
  readonly bytes: number;
  /** of the file, byte for byte */
  readonly fileDigest: string;
  /** how many readings it brought that were not there; null: it was broken off */
  readonly stored: number | null;
  /** of exactly those readings; null: it was broken off */
  readonly storedDigest: string | null;
}

/** One change to the story, as it was written down when it was made; never changed or removed. */
export interface JournalEntry {
  readonly id: number;
  readonly at: number;
  /** table and number of what was changed */
  readonly subject: string;
  readonly subjectId: number;
  /** the row after the change as JSON, names and notes as keyed digests; `null` as text: it was removed */
  readonly content: string;
}

/** What was found when a sealed day was summed up again. */
export type SealFault =
  | { readonly kind: 'readings-differ'; readonly day: number; readonly sensorId: number; readonly quantity: string }
  | { readonly kind: 'chain-broken'; readonly day: number }
  | { readonly kind: 'changes-differ'; readonly day: number }
  | { readonly kind: 'story-differs'; readonly subject: string; readonly subjectId: number };

export interface ProvenanceStore {
  /** null: the dwelling has no journal yet */
  sealing(dwellingId: number): Promise<Sealing | null>;
  /**
   * Seals the first day that is not sealed and lies before `beforeDay`; null: there is none. Other work gets a turn
   * between the series. Nothing can arrive in a sealed day any more: what comes later counts to the day after.
   */
  sealNextDay(dwellingId: number, beforeDay: number, sealedAt: number): Promise<DaySeal | null>;
  /** In order of day, `fromDay` included, `toDay` excluded. */
  daySeals(dwellingId: number, fromDay: number, toDay: number): Promise<DaySeal[]>;
  /** In the order in which they are summed up. */
  seriesSeals(dwellingId: number, fromDay: number, toDay: number): Promise<SeriesSeal[]>;
  /** In order of time, none over another; readings outside arrived on their own day. */
  arrivals(dwellingId: number, seriesId: number): Promise<Arrival[]>;
  journal(dwellingId: number): Promise<JournalEntry[]>;
  /** Every row of the story as the journal would write it down now. */
  storyNow(dwellingId: number, textKey: string): Promise<Pick<JournalEntry, 'subject' | 'subjectId' | 'content'>[]>;
  imports(dwellingId: number): Promise<ImportedFile[]>;
  beginImport(file: Omit<New<ImportedFile>, 'stored' | 'storedDigest'>): Promise<ImportedFile>;
  /** Sums up what the batches of that import have stored. */
  finishImport(dwellingId: number, id: number): Promise<ImportedFile>;
  /** Sums every sealed day up again from what is there now; empty: all is as it was sealed. */
  checkSeals(dwellingId: number): Promise<SealFault[]>;
}
