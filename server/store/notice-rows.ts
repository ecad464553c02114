import { wholeTime } from './arguments.ts';
import type { NoticeRecord, OutgoingMessage, WatchNotice, WatchProgress } from './port.ts';
import type { Columns } from './row-columns.ts';

export interface NoticeRow extends Omit<WatchNotice, 'data' | 'told'> {
  readonly data: string;
  readonly told: string;
}

export const noticeColumns: Columns<NoticeRow> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  rule: 'rule',
  placeId: 'place_id',
  sensorId: 'sensor_id',
  detail: 'detail',
  severity: 'severity',
  begunAt: 'begun_at',
  knownAt: 'known_at',
  endedAt: 'ended_at',
  endKnownAt: 'end_known_at',
  endReason: 'end_reason',
  chance: 'chance',
  data: 'data',
  recordedAt: 'recorded_at',
  withdrawnAt: 'withdrawn_at',
  told: 'told',
  acknowledgedAt: 'acknowledged_at',
  snoozedUntil: 'snoozed_until',
};

/** What recording may change of a notice that is there; the rest says which it is, or belongs to the people. */
export const recordedFields = [
  'severity',
  'begunAt',
  'knownAt',
  'endedAt',
  'endKnownAt',
  'endReason',
  'chance',
  'data',
  'withdrawnAt',
  'told',
] as const satisfies readonly (keyof NoticeRow)[];

export interface ProgressRow {
  readonly evaluatedTo: number | null;
  readonly changedFrom: number | null;
  readonly mark: number;
  readonly summaries: string;
}

/** Columns of {@link ProgressRow}. */
export const progressColumns: Columns<ProgressRow> = {
  evaluatedTo: 'evaluated_to',
  changedFrom: 'changed_from',
  mark: 'mark',
  summaries: 'summaries',
};

/** @param row undefined: the dwelling was never watched */
export const toProgress = (row: ProgressRow | undefined): WatchProgress =>
  row === undefined
    ? { evaluatedTo: null, changedFrom: null, mark: 0, summaries: {} }
    : { ...row, summaries: JSON.parse(row.summaries) as WatchProgress['summaries'] };

/** @throws RangeError unless all of it is of the dwelling */
export function checkRecord(
  dwellingId: number,
  { notices, evaluatedTo }: NoticeRecord,
  messages: readonly OutgoingMessage[],
): void {
  for (const other of [...notices, ...messages].filter((one) => one.dwellingId !== dwellingId)) {
    throw new RangeError(`dwellingId is ${other.dwellingId}; it must be ${dwellingId}`);
  }
  if (evaluatedTo !== null) wholeTime('evaluatedTo', evaluatedTo);
}

export const toNotice = ({ data, told, ...rest }: NoticeRow): WatchNotice => ({
  ...rest,
  data: JSON.parse(data) as WatchNotice['data'],
  told: JSON.parse(told) as WatchNotice['told'],
});

export const toNoticeRow = ({ data, told, ...rest }: WatchNotice): NoticeRow => ({
  ...rest,
  data: JSON.stringify(data),
  told: JSON.stringify(told),
});
