import type { WatchOverrides } from '../analysis/watch/settings.ts';
import type { WatchEvent } from '../analysis/watch/watch-event.ts';
import type { OutgoingMessage } from './port-outbox.ts';

/** What one recipient was told of a notice. */
export interface Told {
  /** when word of its beginning was put into the outbox; of the last reminder, or the same */
  readonly begunAt: number;
  readonly lastAt: number;
  readonly reminders: number;
  /** when word of its end was; null: not yet */
  readonly endedAt: number | null;
}

/** An event of a dwelling as it is kept: what was found, and what became of it. */
export interface WatchNotice extends WatchEvent {
  readonly id: number;
  readonly dwellingId: number;
  /** when it was first written down, by the program's clock */
  readonly recordedAt: number;
  /** when readings that came later showed that it never was; null: it was */
  readonly withdrawnAt: number | null;
  /** by id of the recipient */
  readonly told: Readonly<Record<string, Told>>;
  /** set by the people; recording leaves both alone */
  readonly acknowledgedAt: number | null;
  readonly snoozedUntil: number | null;
}

/** How far a dwelling has been watched. */
export interface WatchProgress {
  /** UTC milliseconds: hours before it have been judged; null: none yet */
  readonly evaluatedTo: number | null;
  /** hours from here on were rebuilt since; null: none */
  readonly changedFrom: number | null;
  /** changes whenever hours are rebuilt */
  readonly mark: number;
  /** local date of the last weekly summary, by id of the recipient */
  readonly summaries: Readonly<Record<string, string>>;
}

/** What one look at a dwelling writes. */
export interface NoticeRecord {
  /** new ones, and ones that are as they were but for what was found and told */
  readonly notices: readonly WatchNotice[];
  readonly evaluatedTo: number | null;
  /** of the progress that was read before: hours rebuilt meanwhile stay marked as changed */
  readonly seenMark: number;
  readonly summaries: Readonly<Record<string, string>>;
}

export interface NoticeStore {
  /** Notices that go on, or were known to go on at or after a time; in order of id. Withdrawn ones too. */
  notices(dwellingId: number, from: number): Promise<WatchNotice[]>;
  /** What goes on, in order of id. */
  openNotices(dwellingId: number): Promise<WatchNotice[]>;
  /** Past ones that were not withdrawn, the last to end first. */
  pastNotices(dwellingId: number, limit: number): Promise<WatchNotice[]>;
  notice(dwellingId: number, id: number): Promise<WatchNotice>;
  /** Highest id ever given; 0: none. */
  lastNoticeId(dwellingId: number): Promise<number>;
  watchProgress(dwellingId: number): Promise<WatchProgress>;
  /** Writes notices, progress and outgoing messages in one transaction. A message whose id is there already stays as it is. */
  recordNotices(dwellingId: number, record: NoticeRecord, messages: readonly OutgoingMessage[]): Promise<void>;
  acknowledgeNotice(dwellingId: number, id: number, at: number): Promise<WatchNotice>;
  /** No reminders until then; null: reminders come again. */
  snoozeNotice(dwellingId: number, id: number, until: number | null): Promise<WatchNotice>;
  /** What differs from the default settings. */
  watchOverrides(dwellingId: number): Promise<WatchOverrides>;
  changeWatchOverrides(dwellingId: number, overrides: WatchOverrides): Promise<void>;
  /** An entry per whole hour of `[from, to)`: 1 where any place has a record. */
  heardHours(dwellingId: number, from: number, to: number): Promise<Uint8Array>;
}
