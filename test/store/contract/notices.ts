import { describe, expect, it } from 'vitest';
import type { OutgoingMessage, WatchNotice } from '../../../server/store/port.ts';
import { bareRecord, givenDwelling, givenPlace, HOUR, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

const noticeOf = (dwellingId: number, id: number, change: Partial<WatchNotice> = {}): WatchNotice => ({
  dwellingId,
  id,
  rule: 'condensing-now',
  placeId: null,
  sensorId: null,
  detail: '',
  severity: 'warning',
  begunAt: NEW_YEAR,
  knownAt: NEW_YEAR + HOUR,
  endedAt: null,
  endKnownAt: null,
  endReason: null,
  chance: 0.875,
  data: { marginK: -0.25, said: 'wet', visible: true, unknown: null },
  recordedAt: NEW_YEAR + 2 * HOUR,
  withdrawnAt: null,
  told: {},
  acknowledgedAt: null,
  snoozedUntil: null,
  ...change,
});

const ended = (at: number): Partial<WatchNotice> => ({ endedAt: at, endKnownAt: at + HOUR, endReason: 'over' });

export function noticeContract(underTest: UnderTest): void {
  describe('notices', () => {
    const given = async () => {
      const { store } = underTest;
      const dwelling = await givenDwelling(store);
      const recipient = await store.addRecipient({
        dwellingId: dwelling.id,
        name: 'Sam',
        channel: 'email',
        address: 'sam@example.org',
        secret: null,
        language: 'en',
        rules: { codes: null, minimumSeverity: 'note' },
        quietHours: null,
        weeklySummary: true,
        dailyDigest: false,
        active: true,
        unsubscribedAt: null,
      });
      const message = (id: string): OutgoingMessage => ({
        id,
        dwellingId: dwelling.id,
        recipientId: recipient.id,
        noticeId: 1,
        event: 'begun',
        createdAt: NEW_YEAR,
        notBefore: NEW_YEAR,
        body: { subject: 'Wet', text: 'It is wet.', data: {} },
      });
      const record = (notices: WatchNotice[], evaluatedTo = NEW_YEAR, seenMark = 0, messages: OutgoingMessage[] = []) =>
        store.recordNotices(dwelling.id, { notices, evaluatedTo, seenMark, summaries: { 1: '2026-01-05' } }, messages);
      return { store, dwelling, recipient, message, record };
    };

    it('come back as they were written, with progress and messages, after a restart too', async () => {
      const { dwelling, message, record } = await given();
      const notice = noticeOf(dwelling.id, 1, { told: { 1: { begunAt: 5, lastAt: 6, reminders: 1, endedAt: null } } });
      await record([notice], NEW_YEAR + HOUR, 0, [message('a')]);
      await underTest.reopen();
      const { store } = underTest;
      expect(await store.openNotices(dwelling.id)).toEqual([notice]);
      expect(await store.notice(dwelling.id, 1)).toEqual(notice);
      expect(await store.lastNoticeId(dwelling.id)).toBe(1);
      expect(await store.watchProgress(dwelling.id)).toEqual({
        evaluatedTo: NEW_YEAR + HOUR,
        changedFrom: null,
        mark: 0,
        summaries: { 1: '2026-01-05' },
      });
      expect((await store.deliveries(dwelling.id, {}, 10)).map(({ id }) => id)).toEqual(['a']);
    });

    it('are written with their messages or not at all', async () => {
      const { store, dwelling, message, record } = await given();
      const bad = { ...message('b'), event: 'nonsense' as never };
      await expect(record([noticeOf(dwelling.id, 1)], NEW_YEAR + HOUR, 0, [message('a'), bad])).rejects.toThrow(
        RangeError,
      );
      expect(await store.openNotices(dwelling.id)).toEqual([]);
      expect((await store.watchProgress(dwelling.id)).evaluatedTo).toBeNull();
      expect(await store.deliveries(dwelling.id, {}, 10)).toEqual([]);
    });

    it('written again change nothing, and the same message is kept once', async () => {
      const { store, dwelling, message, record } = await given();
      await record([noticeOf(dwelling.id, 1)], NEW_YEAR, 0, [message('a')]);
      await record([noticeOf(dwelling.id, 1)], NEW_YEAR, 0, [message('a')]);
      expect(await store.openNotices(dwelling.id)).toHaveLength(1);
      expect(await store.deliveries(dwelling.id, {}, 10)).toHaveLength(1);
    });

    it('keep what the people set when they are written again', async () => {
      const { store, dwelling, record } = await given();
      await record([noticeOf(dwelling.id, 1)]);
      await store.acknowledgeNotice(dwelling.id, 1, NEW_YEAR + 3 * HOUR);
      await store.snoozeNotice(dwelling.id, 1, NEW_YEAR + 9 * HOUR);
      await record([noticeOf(dwelling.id, 1, ended(NEW_YEAR + 5 * HOUR))]);
      expect(await store.notice(dwelling.id, 1)).toMatchObject({
        acknowledgedAt: NEW_YEAR + 3 * HOUR,
        snoozedUntil: NEW_YEAR + 9 * HOUR,
        endedAt: NEW_YEAR + 5 * HOUR,
      });
      // the first time stays
      expect((await store.acknowledgeNotice(dwelling.id, 1, NEW_YEAR + 8 * HOUR)).acknowledgedAt).toBe(
        NEW_YEAR + 3 * HOUR,
      );
      expect((await store.snoozeNotice(dwelling.id, 1, null)).snoozedUntil).toBeNull();
      await expect(store.acknowledgeNotice(dwelling.id, 2, NEW_YEAR)).rejects.toMatchObject({ fault: 'not-found' });
    });

    it('are listed as going on, as known at or after a time, and as past without those withdrawn', async () => {
      const { store, dwelling, record } = await given();
      await record([
        noticeOf(dwelling.id, 1, ended(NEW_YEAR + 5 * HOUR)),
        noticeOf(dwelling.id, 2, ended(NEW_YEAR + 9 * HOUR)),
        noticeOf(dwelling.id, 3),
        noticeOf(dwelling.id, 4, { ...ended(NEW_YEAR + 20 * HOUR), withdrawnAt: NEW_YEAR + 20 * HOUR }),
      ]);
      const ids = (notices: WatchNotice[]) => notices.map(({ id }) => id);
      expect(ids(await store.openNotices(dwelling.id))).toEqual([3]);
      expect(ids(await store.notices(dwelling.id, NEW_YEAR + 10 * HOUR))).toEqual([2, 3, 4]);
      expect(ids(await store.pastNotices(dwelling.id, 10))).toEqual([2, 1]);
      expect(ids(await store.pastNotices(dwelling.id, 1))).toEqual([2]);
    });

    it('belong to one dwelling', async () => {
      const { store, record } = await given();
      const other = await givenDwelling(store, 'other');
      await expect(record([noticeOf(other.id, 1)])).rejects.toThrow(RangeError);
      expect(await store.openNotices(other.id)).toEqual([]);
    });
  });

  describe('progress of watching', () => {
    it('is marked with the first hour rebuilt since, until the hours seen have been judged', async () => {
      const { store } = underTest;
      const dwelling = await givenDwelling(store);
      const place = await givenPlace(store, dwelling);
      const rebuild = (hour: number) =>
        store.replaceHours(dwelling.id, [{ dwellingId: dwelling.id, hour, mark: 1 }], [bareRecord(place.id, hour)]);
      await rebuild(NEW_YEAR + 5 * HOUR);
      await rebuild(NEW_YEAR + 3 * HOUR);
      await rebuild(NEW_YEAR + 9 * HOUR);
      const seen = await store.watchProgress(dwelling.id);
      expect(seen).toMatchObject({ evaluatedTo: null, changedFrom: NEW_YEAR + 3 * HOUR });
      // another rebuild while the hours were judged: they stay marked
      await rebuild(NEW_YEAR + 4 * HOUR);
      const record = { notices: [], evaluatedTo: NEW_YEAR + 10 * HOUR, seenMark: seen.mark, summaries: {} };
      await store.recordNotices(dwelling.id, record, []);
      const after = await store.watchProgress(dwelling.id);
      expect(after).toMatchObject({ evaluatedTo: NEW_YEAR + 10 * HOUR, changedFrom: NEW_YEAR + 3 * HOUR });
      await store.recordNotices(dwelling.id, { ...record, seenMark: after.mark }, []);
      expect((await store.watchProgress(dwelling.id)).changedFrom).toBeNull();
    });

    it('knows the hours in which anything was heard', async () => {
      const { store } = underTest;
      const dwelling = await givenDwelling(store);
      const place = await givenPlace(store, dwelling);
      const other = await givenPlace(store, dwelling, 'outdoor-air');
      const hours = [0, 1, 4].map((k) => ({ dwellingId: dwelling.id, hour: NEW_YEAR + k * HOUR, mark: 1 }));
      const records = [bareRecord(place.id, NEW_YEAR), bareRecord(other.id, NEW_YEAR + 4 * HOUR)];
      await store.replaceHours(dwelling.id, hours, records);
      expect([...(await store.heardHours(dwelling.id, NEW_YEAR, NEW_YEAR + 6 * HOUR))]).toEqual([1, 0, 0, 0, 1, 0]);
    });

    it('keeps the settings that differ', async () => {
      const { store } = underTest;
      const dwelling = await givenDwelling(store);
      expect(await store.watchOverrides(dwelling.id)).toEqual({});
      await store.changeWatchOverrides(dwelling.id, { 'timber-wet': { limitPct: 18, on: true } });
      await underTest.reopen();
      expect(await underTest.store.watchOverrides(dwelling.id)).toEqual({ 'timber-wet': { limitPct: 18, on: true } });
    });
  });
}
