import { HOUR_MS } from '../../analysis/vocabulary.ts';
import type { WatchOverrides } from '../../analysis/watch/settings.ts';
import { spanBound, wholeLimit, wholeTime } from '../arguments.ts';
import type { NoticeStore, WatchNotice, WatchProgress } from '../port.ts';
import { type Columns, selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { insertMessages } from './outbox.ts';
import { findRow, insertRow, requireDwelling } from './rows.ts';

interface Row extends Omit<WatchNotice, 'data' | 'told'> {
  readonly data: string;
  readonly told: string;
}

const columns: Columns<Row> = {
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
const recorded = [
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
] as const satisfies readonly (keyof Row)[];

/** Notes which hours were rebuilt. To be called inside the transaction that replaces them. */
export function hourChanges(db: Connection): (dwellingId: number, from: number) => void {
  const note = db.prepare<[number, number]>(
    `INSERT INTO watch_progress (dwelling_id, changed_from, mark) VALUES (?, ?, 1)
     ON CONFLICT DO UPDATE SET changed_from = min(coalesce(changed_from, excluded.changed_from), excluded.changed_from),
       mark = mark + 1`,
  );
  return (dwellingId, from) => {
    note.run(dwellingId, from);
  };
}

interface ProgressRow {
  readonly evaluatedTo: number | null;
  readonly changedFrom: number | null;
  readonly mark: number;
  readonly summaries: string;
}

export function noticeStore(db: Connection): NoticeStore {
  const select = `SELECT ${selectList({ ...columns })} FROM notice WHERE dwelling_id = ?`;
  const find = (dwellingId: number, id: number): WatchNotice =>
    toNotice(findRow<Row>(db, 'notice', columns, dwellingId, id));
  const keep = db.prepare(
    `INSERT INTO watch_progress (dwelling_id, evaluated_to, mark, summaries) VALUES (@dwellingId, @evaluatedTo, 0, @summaries)
     ON CONFLICT DO UPDATE SET evaluated_to = excluded.evaluated_to, summaries = excluded.summaries,
       changed_from = iif(mark = @seenMark, NULL, changed_from)`,
  );

  function set(dwellingId: number, id: number, column: string, value: number | null): WatchNotice {
    return write(db, () => {
      find(dwellingId, id);
      db.prepare(`UPDATE notice SET ${column} = ? WHERE dwelling_id = ? AND id = ?`).run(value, dwellingId, id);
      return find(dwellingId, id);
    });
  }

  function put(notice: WatchNotice): void {
    const row = toRow(notice);
    const { changes } = db
      .prepare(
        `UPDATE notice SET ${recorded.map((field) => `${columns[field]} = ?`).join(', ')} WHERE dwelling_id = ? AND id = ?`,
      )
      .run(...recorded.map((field) => row[field]), row.dwellingId, row.id);
    if (changes === 0) insertRow(db, 'notice', columns, row);
  }

  return {
    async notices(dwellingId, from) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number], Row>(`${select} AND (ended_at IS NULL OR end_known_at >= ?) ORDER BY id`)
        .all(dwellingId, spanBound('from', from))
        .map(toNotice);
    },

    async openNotices(dwellingId) {
      requireDwelling(db, dwellingId);
      return db.prepare<[number], Row>(`${select} AND ended_at IS NULL ORDER BY id`).all(dwellingId).map(toNotice);
    },

    async pastNotices(dwellingId, limit) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number], Row>(
          `${select} AND ended_at IS NOT NULL AND withdrawn_at IS NULL ORDER BY end_known_at DESC, id DESC LIMIT ?`,
        )
        .all(dwellingId, wholeLimit(limit))
        .map(toNotice);
    },

    async notice(dwellingId, id) {
      return find(dwellingId, id);
    },

    async lastNoticeId(dwellingId) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number], number>('SELECT coalesce(max(id), 0) FROM notice WHERE dwelling_id = ?')
        .pluck()
        .get(dwellingId)!;
    },

    async watchProgress(dwellingId) {
      requireDwelling(db, dwellingId);
      const row = db
        .prepare<[number], ProgressRow>(
          `SELECT evaluated_to AS "evaluatedTo", changed_from AS "changedFrom", mark, summaries FROM watch_progress
           WHERE dwelling_id = ?`,
        )
        .get(dwellingId);
      if (row === undefined) return { evaluatedTo: null, changedFrom: null, mark: 0, summaries: {} };
      return { ...row, summaries: JSON.parse(row.summaries) as WatchProgress['summaries'] };
    },

    async recordNotices(dwellingId, { notices, evaluatedTo, seenMark, summaries }, messages) {
      for (const other of [...notices, ...messages].filter((one) => one.dwellingId !== dwellingId)) {
        throw new RangeError(`dwellingId is ${other.dwellingId}; it must be ${dwellingId}`);
      }
      if (evaluatedTo !== null) wholeTime('evaluatedTo', evaluatedTo);
      write(db, () => {
        requireDwelling(db, dwellingId);
        for (const notice of notices) put(notice);
        keep.run({ dwellingId, evaluatedTo, seenMark, summaries: JSON.stringify(summaries) });
        insertMessages(db, messages);
      });
    },

    async acknowledgeNotice(dwellingId, id, at) {
      wholeTime('at', at);
      const known = find(dwellingId, id);
      return known.acknowledgedAt === null ? set(dwellingId, id, 'acknowledged_at', at) : known;
    },

    async snoozeNotice(dwellingId, id, until) {
      if (until !== null) wholeTime('until', until);
      return set(dwellingId, id, 'snoozed_until', until);
    },

    async watchOverrides(dwellingId) {
      requireDwelling(db, dwellingId);
      const text = db
        .prepare<[number], string>('SELECT overrides FROM watch_setting WHERE dwelling_id = ?')
        .pluck()
        .get(dwellingId);
      return text === undefined ? {} : (JSON.parse(text) as WatchOverrides);
    },

    async changeWatchOverrides(dwellingId, overrides) {
      db.prepare<[number, string]>(
        `INSERT INTO watch_setting (dwelling_id, overrides) VALUES (?, ?)
         ON CONFLICT DO UPDATE SET overrides = excluded.overrides`,
      ).run(dwellingId, JSON.stringify(overrides));
    },

    async heardHours(dwellingId, from, to) {
      requireDwelling(db, dwellingId);
      const first = Math.ceil(spanBound('from', from) / HOUR_MS);
      const end = Math.floor(spanBound('to', to) / HOUR_MS);
      const heard = new Uint8Array(Math.max(0, end - first));
      const hours = db
        .prepare<[number, number, number, number], number>(
          `SELECT hour FROM hour_record WHERE dwelling_id = ? AND hour >= ? AND hour < ?
             AND place_id IN (SELECT id FROM place WHERE dwelling_id = ?)`,
        )
        .pluck();
      for (const hour of hours.iterate(dwellingId, first, end, dwellingId)) heard[hour - first] = 1;
      return heard;
    },
  };
}

const toNotice = ({ data, told, ...rest }: Row): WatchNotice => ({
  ...rest,
  data: JSON.parse(data) as WatchNotice['data'],
  told: JSON.parse(told) as WatchNotice['told'],
});

const toRow = ({ data, told, ...rest }: WatchNotice): Row => ({
  ...rest,
  data: JSON.stringify(data),
  told: JSON.stringify(told),
});
