import type { Notice } from '../../physics/notice.ts';

/** What the home is watched for, in the order in which a reader would ask. */
export const watchRules = [
  'condensation-ahead',
  'condensing-now',
  'surface-damp',
  'mould-stage',
  'hidden-layer-damp',
  'loft-wetter',
  'timber-wet',
  'room-too-cold',
  'room-too-moist',
  'sensor-trouble',
  'readings-stopped',
  'not-stored',
] as const;

export type WatchRule = (typeof watchRules)[number];

/** Figures behind a notice, the unit in each name. */
export type WatchData = Readonly<Record<string, number | string | boolean | null>>;

/** What an event is about. Two events of one rule and one subject never overlap. */
export interface WatchSubject {
  readonly rule: WatchRule;
  /** null: the whole home, or a sensor */
  readonly placeId: number | null;
  readonly sensorId: number | null;
  /** tells several things of one place or sensor apart: a mould stage, a code, the date of a night; empty: none */
  readonly detail: string;
}

/** over: it ended; no-data: nothing was known for so long that it is not kept up; rule-off: it is not watched for any more. */
export const endReasons = ['over', 'no-data', 'rule-off'] as const;
export type EndReason = (typeof endReasons)[number];

/**
 * Something that went on for a time. It is known at the end of an hour from that hour and those before it alone, so that
 * whoever looks back finds what was found then.
 */
export interface WatchEvent extends WatchSubject {
  readonly severity: Notice['severity'];
  /** UTC milliseconds: when it began, and the end of the hour from which that was known */
  readonly begunAt: number;
  readonly knownAt: number;
  /** when it ended (exclusive), and the end of the hour from which that was known; null: it goes on */
  readonly endedAt: number | null;
  readonly endKnownAt: number | null;
  readonly endReason: EndReason | null;
  /** chance that it is so, given what the sensors may be wrong by, 0 to 1; null: cannot be put in a number */
  readonly chance: number | null;
  /** as it was when it became known */
  readonly data: WatchData;
}

export const subjectKey = ({ rule, placeId, sensorId, detail }: WatchSubject): string =>
  [rule, placeId ?? '', sensorId ?? '', detail].join('/');
