import { HOUR_MS } from '../../analysis/vocabulary.ts';
import type { WatchOverrides } from '../../analysis/watch/settings.ts';
import { spanBound, wholeLimit, wholeTime } from '../arguments.ts';
import {
  checkRecord,
  type NoticeRow,
  noticeColumns,
  type ProgressRow,
  progressColumns,
  recordedFields,
  toNotice,
  toNoticeRow,
  toProgress,
} from '../notice-rows.ts';
import type { NoticeStore, WatchNotice } from '../port.ts';
import { selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { insertMessages } from './outbox.ts';
import { findRow, insertRow, requireDwelling } from './rows.ts';

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

export function noticeStore(db: Connection): NoticeStore {
  const select = `SELECT ${selectList({ ...noticeColumns })} FROM notice WHERE dwelling_id = ?`;
  const find = (dwellingId: number, id: number): WatchNotice =>
    toNotice(findRow<NoticeRow>(db, 'notice', noticeColumns, dwellingId, id));
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
    const row = toNoticeRow(notice);
    const { changes } = db
      .prepare(
        `UPDATE notice SET ${recordedFields.map((field) => `${noticeColumns[field]} = ?`).join(', ')} WHERE dwelling_id = ? AND id = ?`,
      )
      .run(...recordedFields.map((field) => row[field]), row.dwellingId, row.id);
    if (changes === 0) insertRow(db, 'notice', noticeColumns, row);
  }

  return {
    async notices(dwellingId, from) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number], NoticeRow>(`${select} AND (ended_at IS NULL OR end_known_at >= ?) ORDER BY id`)
        .all(dwellingId, spanBound('from', from))
        .map(toNotice);
    },

    async openNotices(dwellingId) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number], NoticeRow>(`${select} AND ended_at IS NULL ORDER BY id`)
        .all(dwellingId)
        .map(toNotice);
    },

    async pastNotices(dwellingId, limit) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number], NoticeRow>(
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
      return toProgress(
        db
          .prepare<[number], ProgressRow>(
            `SELECT ${selectList({ ...progressColumns })} FROM watch_progress WHERE dwelling_id = ?`,
          )
          .get(dwellingId),
      );
    },

    async recordNotices(dwellingId, record, messages) {
      checkRecord(dwellingId, record, messages);
      const { notices, evaluatedTo, seenMark, summaries } = record;
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
