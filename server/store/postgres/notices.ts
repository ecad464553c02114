import type { WatchOverrides } from '../../analysis/watch/settings.ts';
import { spanBound, wholeLimit, wholeTime } from '../arguments.ts';
import { hourBounds } from '../hour-rows.ts';
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
import { numbersIn, sendAll } from './arrays.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { insertMessages } from './outbox.ts';
import { findRow, requireDwelling } from './rows.ts';

const select = `SELECT ${selectList({ ...noticeColumns })} FROM notice WHERE dwelling_id = $1`;

const find = async (db: Connection, dwellingId: number, id: number): Promise<WatchNotice> =>
  toNotice(await findRow<NoticeRow>(db, 'notice', noticeColumns, dwellingId, id));

const fields = Object.keys(noticeColumns) as (keyof NoticeRow)[];
const putNotice = `INSERT INTO notice (${fields.map((field) => noticeColumns[field]).join(', ')})
  VALUES (${fields.map((_, k) => `$${k + 1}`).join(', ')})
  ON CONFLICT (dwelling_id, id) DO UPDATE
  SET ${recordedFields.map((field) => `${noticeColumns[field]} = excluded.${noticeColumns[field]}`).join(', ')}`;

/** Notes from when on, in ms, hours were rebuilt. To be called in the transaction that replaces them. */
export async function noteHourChanges(tx: Transaction, dwellingId: number, from: number): Promise<void> {
  await tx.run(
    `INSERT INTO watch_progress AS was (dwelling_id, changed_from, mark) VALUES ($1, $2, 1)
     ON CONFLICT (dwelling_id) DO UPDATE
     SET changed_from = least(was.changed_from, excluded.changed_from), mark = was.mark + 1`,
    [dwellingId, from],
  );
}

export function noticeStore(db: Database): NoticeStore {
  const set = (dwellingId: number, id: number, assignment: string, value: number | null): Promise<WatchNotice> =>
    db.inTurn(dwellingId, async (tx) => {
      await find(tx, dwellingId, id);
      await tx.run(`UPDATE notice SET ${assignment} WHERE dwelling_id = $1 AND id = $2`, [dwellingId, id, value]);
      return find(tx, dwellingId, id);
    });

  return {
    async notices(dwellingId, from) {
      await requireDwelling(db, dwellingId);
      const rows = await db.all<NoticeRow>(`${select} AND (ended_at IS NULL OR end_known_at >= $2) ORDER BY id`, [
        dwellingId,
        spanBound('from', from),
      ]);
      return rows.map(toNotice);
    },

    async openNotices(dwellingId) {
      await requireDwelling(db, dwellingId);
      return (await db.all<NoticeRow>(`${select} AND ended_at IS NULL ORDER BY id`, [dwellingId])).map(toNotice);
    },

    async pastNotices(dwellingId, limit) {
      await requireDwelling(db, dwellingId);
      const rows = await db.all<NoticeRow>(
        `${select} AND ended_at IS NOT NULL AND withdrawn_at IS NULL ORDER BY end_known_at DESC, id DESC LIMIT $2`,
        [dwellingId, wholeLimit(limit)],
      );
      return rows.map(toNotice);
    },

    async notice(dwellingId, id) {
      return find(db, dwellingId, id);
    },

    async lastNoticeId(dwellingId) {
      await requireDwelling(db, dwellingId);
      const { last } = (await db.first<{ last: number }>(
        'SELECT coalesce(max(id), 0) AS last FROM notice WHERE dwelling_id = $1',
        [dwellingId],
      ))!;
      return last;
    },

    async watchProgress(dwellingId) {
      await requireDwelling(db, dwellingId);
      return toProgress(
        await db.first<ProgressRow>(
          `SELECT ${selectList({ ...progressColumns })} FROM watch_progress WHERE dwelling_id = $1`,
          [dwellingId],
        ),
      );
    },

    async recordNotices(dwellingId, record, messages) {
      checkRecord(dwellingId, record, messages);
      const { notices, evaluatedTo, seenMark, summaries } = record;
      await db.inTurn(dwellingId, async (tx) => {
        for (const row of notices.map(toNoticeRow)) {
          await tx.run(
            putNotice,
            fields.map((field) => row[field]),
          );
        }
        await tx.run(
          `INSERT INTO watch_progress AS was (dwelling_id, evaluated_to, mark, summaries) VALUES ($1, $2, 0, $3)
           ON CONFLICT (dwelling_id) DO UPDATE SET evaluated_to = excluded.evaluated_to, summaries = excluded.summaries,
             changed_from = CASE WHEN was.mark = $4 THEN NULL ELSE was.changed_from END`,
          [dwellingId, evaluatedTo, JSON.stringify(summaries), seenMark],
        );
        await insertMessages(tx, messages);
      });
    },

    async acknowledgeNotice(dwellingId, id, at) {
      // the first time stays
      return set(dwellingId, id, 'acknowledged_at = coalesce(acknowledged_at, $3)', wholeTime('at', at));
    },

    async snoozeNotice(dwellingId, id, until) {
      if (until !== null) wholeTime('until', until);
      return set(dwellingId, id, 'snoozed_until = $3', until);
    },

    async watchOverrides(dwellingId) {
      await requireDwelling(db, dwellingId);
      const row = await db.first<{ overrides: string }>('SELECT overrides FROM watch_setting WHERE dwelling_id = $1', [
        dwellingId,
      ]);
      return row === undefined ? {} : (JSON.parse(row.overrides) as WatchOverrides);
    },

    async changeWatchOverrides(dwellingId, overrides) {
      await db.inTurn(dwellingId, (tx) =>
        tx.run(
          `INSERT INTO watch_setting (dwelling_id, overrides) VALUES ($1, $2)
           ON CONFLICT (dwelling_id) DO UPDATE SET overrides = excluded.overrides`,
          [dwellingId, JSON.stringify(overrides)],
        ),
      );
    },

    async heardHours(dwellingId, from, to) {
      await requireDwelling(db, dwellingId);
      const [first, end] = hourBounds(from, to);
      const heard = new Uint8Array(Math.max(0, end - first));
      const sent = await db.first<{ hours: Buffer | null }>(
        `SELECT ${sendAll('hour')} AS hours FROM (
           SELECT DISTINCT hour FROM hour_record WHERE dwelling_id = $1 AND hour >= $2 AND hour < $3
             AND place_id IN (SELECT id FROM place WHERE dwelling_id = $1)) AS heard`,
        [dwellingId, first, end],
      );
      for (const hour of numbersIn(sent!.hours)) heard[hour - first] = 1;
      return heard;
    },
  };
}
