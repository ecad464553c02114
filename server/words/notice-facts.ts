import type { EndReason, WatchData, WatchRule } from '../analysis/watch/watch-event.ts';

/** What a notice says of itself, in full sentences. */
export interface NoticeSaid {
  readonly title: string;
  readonly what: string;
  readonly since: string;
  readonly howSure: string;
  readonly whatToDo: readonly string[];
  readonly cautions: readonly { readonly code: string; readonly message: string }[];
}

/** A notice as it is put into a language: codes, figures and names, and its English for what is not known yet. */
export interface NoticeFacts extends NoticeSaid {
  readonly code: WatchRule;
  /** what its place is called; null: the whole home, or a sensor */
  readonly place: string | null;
  /** the room whose air that place has */
  readonly room: string | null;
  readonly data: WatchData;
  /** instants: UTC ms or ISO 8601 */
  readonly begunAt: number | string;
  readonly endedAt: number | string | null;
  readonly endReason: EndReason | null;
  readonly withdrawn: boolean;
  readonly chance: number | null;
}
