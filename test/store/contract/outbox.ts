import { setImmediate } from 'node:timers/promises';
import { describe, expect, test } from 'vitest';
import type { ClaimedDelivery, Dwelling, New, OutgoingMessage, Recipient, Store } from '../../../server/store/port.ts';
import { DAY, givenDwelling, HOUR, MINUTE, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

const recipientOf = ({ id }: { readonly id: number }, change: Partial<New<Recipient>> = {}): New<Recipient> => ({
  dwellingId: id,
  name: 'Ada',
  channel: 'email',
  address: 'ada@example.org',
  secret: null,
  language: 'en',
  rules: { codes: null, minimumSeverity: 'caution' },
  quietHours: null,
  weeklySummary: false,
  dailyDigest: false,
  active: true,
  unsubscribedAt: null,
  ...change,
});

const messageTo = (
  { id, dwellingId }: Recipient,
  messageId: string,
  change: Partial<OutgoingMessage> = {},
): OutgoingMessage => ({
  id: messageId,
  dwellingId,
  recipientId: id,
  noticeId: null,
  event: 'begun',
  createdAt: NEW_YEAR,
  notBefore: NEW_YEAR,
  body: {
    subject: 'Damp tonight',
    text: 'The ceiling will be below the dew point.',
    data: { marginK: -0.4, list: [1] },
  },
  ...change,
});

const until = NEW_YEAR + 2 * MINUTE;
const ids = (claimed: readonly ClaimedDelivery[]): string[] => claimed.map(({ delivery }) => delivery.id);

export function outboxContract(given: UnderTest): void {
  const people = async (...names: string[]): Promise<[Dwelling, ...Recipient[]]> => {
    const home = await givenDwelling(given.store);
    const added: Recipient[] = [];
    for (const name of names) added.push(await given.store.addRecipient(recipientOf(home, { name })));
    return [home, ...added];
  };

  describe('recipients', () => {
    test('that get the daily digest are known by their dwellings', async () => {
      const home = await givenDwelling(given.store);
      const other = await givenDwelling(given.store, 'gable-cottage');
      await givenDwelling(given.store, 'quarry-side');
      expect(await given.store.digestDwellings()).toEqual([]);
      for (const name of ['Ada', 'Maud']) {
        await given.store.addRecipient(recipientOf(other, { name, dailyDigest: true }));
      }
      await given.store.addRecipient(recipientOf(home));
      expect(await given.store.digestDwellings()).toEqual([other.id]);
    });

    test('come back as they were given, across a restart', async () => {
      const home = await givenDwelling(given.store);
      const other = await givenDwelling(given.store, 'gable-cottage');
      const whole = recipientOf(home, {
        channel: 'webhook',
        address: 'https://example.org/hook',
        secret: 'k',
        rules: { codes: ['condensing-now'], minimumSeverity: 'note' },
        quietHours: { fromMinute: 1320, toMinute: 420, breakFor: ['condensing-now'] },
        weeklySummary: true,
        dailyDigest: false,
        active: false,
        unsubscribedAt: NEW_YEAR,
      });
      const first = await given.store.addRecipient(whole);
      const second = await given.store.addRecipient(recipientOf(home));
      const third = await given.store.addRecipient(recipientOf(other));
      expect([first.id, second.id, third.id]).toEqual([1, 2, 1]);
      await given.reopen();
      expect(await given.store.recipients(home.id)).toEqual([{ ...whole, id: 1 }, second]);
      expect(await given.store.recipients(other.id)).toEqual([third]);
    });

    test('are changed field by field, and removed with all that was theirs', async () => {
      const [home, ada, ben] = await people('Ada', 'Ben');
      const changed = await given.store.changeRecipient(home.id, ada!.id, { name: 'Ada L.' }, NEW_YEAR);
      expect(changed).toEqual({ ...ada, name: 'Ada L.' });
      await given.store.addMessages([messageTo(ada!, 'a1'), messageTo(ben!, 'b1')]);
      await given.store.claimDue(NEW_YEAR, until, 10);
      await given.store.removeRecipient(home.id, ada!.id);
      expect((await given.store.deliveries(home.id, {}, 10)).map(({ id }) => id)).toEqual(['b1']);
      expect(await given.store.deliveryAttempts(home.id, ['a1'])).toEqual([]);
      expect(
        await given.store.finishAttempt(home.id, 'a1', 1, { kind: 'sent', code: 'taken', detail: '' }, NEW_YEAR),
      ).toBe(false);
      await expect(given.store.removeRecipient(home.id, ada!.id)).rejects.toMatchObject({ fault: 'not-found' });
      expect(await given.store.addRecipient(recipientOf(home))).toMatchObject({ id: 3 });
    });

    test('of nonsense are refused', async () => {
      const home = await givenDwelling(given.store);
      for (const change of [
        { name: ' ' },
        { address: '' },
        { channel: 'pigeon' as 'email' },
        { secret: 'k' },
        { channel: 'webhook' as const },
        { rules: { codes: null, minimumSeverity: 'dire' as 'note' } },
        { quietHours: { fromMinute: 1440, toMinute: 0, breakFor: [] } },
        { quietHours: { fromMinute: 0, toMinute: 0.5, breakFor: [] } },
      ]) {
        await expect(given.store.addRecipient(recipientOf(home, change))).rejects.toThrow(RangeError);
      }
      await expect(given.store.addRecipient(recipientOf({ id: 99 }))).rejects.toMatchObject({ fault: 'not-found' });
      expect(await given.store.recipients(home.id)).toEqual([]);
    });
  });

  describe('the outbox', () => {
    test('keeps a message once, however often it is put in, and gives it back as it was', async () => {
      const [home, ada] = await people('Ada');
      const message = messageTo(ada!, 'a1', { noticeId: 7, event: 'ended', notBefore: NEW_YEAR + HOUR });
      expect(await given.store.addMessages([message, messageTo(ada!, 'a2')])).toBe(2);
      expect(await given.store.addMessages([{ ...message, createdAt: NEW_YEAR + 5 }, messageTo(ada!, 'a3')])).toBe(1);
      await given.reopen();
      const kept = await given.store.deliveries(home.id, {}, 10);
      expect(kept.map(({ id }) => id)).toEqual(['a3', 'a2', 'a1']);
      expect(kept[2]).toEqual({
        ...message,
        state: 'waiting',
        attempts: 0,
        attemptsInRow: 0,
        tryingSince: null,
        nextAt: NEW_YEAR + HOUR,
        finishedAt: null,
      });
      expect(await given.store.countWaiting()).toBe(3);
      expect(await given.store.countDeliveries(home.id)).toEqual({
        waiting: 3,
        sending: 0,
        sent: 0,
        'given-up': 0,
        withdrawn: 0,
      });
    });

    test('takes all messages of a call or none, and none for people who are no more', async () => {
      const [home, ada] = await people('Ada');
      await expect(given.store.addMessages([messageTo(ada!, 'a1'), messageTo(ada!, 'no spaces')])).rejects.toThrow(
        RangeError,
      );
      expect(await given.store.addMessages([messageTo({ ...ada!, id: 9 }, 'b1')])).toBe(0);
      expect(await given.store.deliveries(home.id, {}, 10)).toEqual([]);
      expect(await given.store.nextDue()).toBeNull();
    });

    test('hands out one message a recipient, in order, and the next once that is done', async () => {
      const [home, ada, ben] = await people('Ada', 'Ben');
      await given.store.addMessages([messageTo(ada!, 'a1'), messageTo(ada!, 'a2'), messageTo(ben!, 'b1')]);
      const claimed = await given.store.claimDue(NEW_YEAR, until, 10);
      expect(ids(claimed)).toEqual(['a1', 'b1']);
      expect(claimed[0]).toMatchObject({
        recipient: ada,
        dwelling: { slug: home.slug, name: home.name },
        delivery: { state: 'sending', attempts: 1, attemptsInRow: 1, tryingSince: NEW_YEAR, nextAt: until },
      });
      expect(await given.store.claimDue(NEW_YEAR, until, 10)).toEqual([]);
      expect(
        await given.store.finishAttempt(home.id, 'a1', 1, { kind: 'sent', code: 'taken', detail: '250' }, NEW_YEAR + 1),
      ).toBe(true);
      expect(ids(await given.store.claimDue(NEW_YEAR, until, 10))).toEqual(['a2']);
      expect(await given.store.deliveryAttempts(home.id, ['a1', 'b1'])).toEqual([
        {
          dwellingId: home.id,
          messageId: 'a1',
          number: 1,
          startedAt: NEW_YEAR,
          endedAt: NEW_YEAR + 1,
          outcome: 'sent',
          code: 'taken',
          detail: '250',
        },
        {
          dwellingId: home.id,
          messageId: 'b1',
          number: 1,
          startedAt: NEW_YEAR,
          endedAt: null,
          outcome: 'unknown',
          code: 'not-ended',
          detail: '',
        },
      ]);
    });

    test('takes at most as many as asked for, the longest due first', async () => {
      const [, ada, ben] = await people('Ada', 'Ben');
      await given.store.addMessages([messageTo(ada!, 'a1', { notBefore: NEW_YEAR + 9 }), messageTo(ben!, 'b1')]);
      expect(ids(await given.store.claimDue(NEW_YEAR + 10, until, 1))).toEqual(['b1']);
      expect(ids(await given.store.claimDue(NEW_YEAR + 10, until, 1))).toEqual(['a1']);
    });

    test('holds a message back until its time, and lets one that may go at once go before it', async () => {
      const [, ada] = await people('Ada');
      await given.store.addMessages([messageTo(ada!, 'later', { notBefore: NEW_YEAR + HOUR })]);
      expect(await given.store.nextDue()).toBe(NEW_YEAR + HOUR);
      expect(await given.store.claimDue(NEW_YEAR + HOUR - 1, until, 10)).toEqual([]);
      await given.store.addMessages([messageTo(ada!, 'now', { notBefore: NEW_YEAR + 5 })]);
      expect(await given.store.nextDue()).toBe(NEW_YEAR + 5);
      expect(ids(await given.store.claimDue(NEW_YEAR + 5, until, 10))).toEqual(['now']);
    });

    test('tries again at the time given, holding back what comes after', async () => {
      const [home, ada] = await people('Ada');
      await given.store.addMessages([messageTo(ada!, 'a1'), messageTo(ada!, 'a2')]);
      await given.store.claimDue(NEW_YEAR, until, 10);
      const again = { kind: 'again', code: 'busy', detail: 'busy', nextAt: NEW_YEAR + HOUR } as const;
      expect(await given.store.finishAttempt(home.id, 'a1', 1, again, NEW_YEAR + 1)).toBe(true);
      expect(await given.store.claimDue(NEW_YEAR + HOUR - 1, until, 10)).toEqual([]);
      expect(await given.store.nextDue()).toBe(NEW_YEAR + HOUR);
      const [claimed] = await given.store.claimDue(NEW_YEAR + HOUR, NEW_YEAR + 2 * HOUR, 10);
      expect(claimed!.delivery).toMatchObject({ id: 'a1', attempts: 2, attemptsInRow: 2, tryingSince: NEW_YEAR });
      expect(await given.store.deliveryAttempts(home.id, ['a1'])).toMatchObject([
        { number: 1, outcome: 'failed-for-now', detail: 'busy' },
        { number: 2, outcome: 'unknown' },
      ]);
    });

    test('takes a message again whose claim ran out, and believes only the last claim', async () => {
      const [home, ada] = await people('Ada');
      await given.store.addMessages([messageTo(ada!, 'a1')]);
      await given.store.claimDue(NEW_YEAR, until, 10);
      await given.reopen();
      expect(await given.store.claimDue(until - 1, until, 10)).toEqual([]);
      const [second] = await given.store.claimDue(until, until + MINUTE, 10);
      expect(second!.delivery.attempts).toBe(2);
      expect(
        await given.store.finishAttempt(home.id, 'a1', 1, { kind: 'sent', code: 'taken', detail: 'late' }, until),
      ).toBe(false);
      expect(await given.store.deliveries(home.id, {}, 1)).toMatchObject([{ state: 'sending' }]);
      expect(
        await given.store.finishAttempt(home.id, 'a1', 2, { kind: 'sent', code: 'taken', detail: '' }, until),
      ).toBe(true);
      expect(
        await given.store.finishAttempt(home.id, 'a1', 2, { kind: 'sent', code: 'taken', detail: '' }, until),
      ).toBe(false);
      expect(await given.store.deliveries(home.id, {}, 1)).toMatchObject([{ state: 'sent', finishedAt: until }]);
      expect(await given.store.nextDue()).toBeNull();
    });

    test('shows what was given up, goes on with the next, and tries again when asked to', async () => {
      const [home, ada] = await people('Ada');
      await given.store.addMessages([messageTo(ada!, 'a1'), messageTo(ada!, 'a2')]);
      await given.store.claimDue(NEW_YEAR, until, 10);
      const end = {
        kind: 'give-up',
        code: 'address-refused',
        detail: 'no such person',
        outcome: 'failed-for-good',
      } as const;
      await given.store.finishAttempt(home.id, 'a1', 1, end, NEW_YEAR + 1);
      expect(ids(await given.store.claimDue(NEW_YEAR + 1, until, 10))).toEqual(['a2']);
      await given.store.finishAttempt(home.id, 'a2', 1, { kind: 'sent', code: 'taken', detail: '' }, NEW_YEAR + 2);
      expect(await given.store.deliveries(home.id, { states: ['given-up'] }, 10)).toMatchObject([
        { id: 'a1', finishedAt: NEW_YEAR + 1 },
      ]);
      expect(await given.store.countDeliveries(home.id)).toMatchObject({ sent: 1, 'given-up': 1 });
      expect(await given.store.countWaiting()).toBe(0);

      const retried = await given.store.retryMessage(home.id, 'a1', NEW_YEAR + DAY);
      expect(retried).toMatchObject({ state: 'waiting', attempts: 1, attemptsInRow: 0, tryingSince: null });
      const [claimed] = await given.store.claimDue(NEW_YEAR + DAY, NEW_YEAR + DAY + HOUR, 10);
      expect(claimed!.delivery).toMatchObject({ id: 'a1', attempts: 2, attemptsInRow: 1, tryingSince: NEW_YEAR + DAY });
      expect(await given.store.retryMessage(home.id, 'a1', NEW_YEAR + DAY)).toMatchObject({ state: 'sending' });
      await expect(given.store.retryMessage(home.id, 'a9', NEW_YEAR)).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('withdraws what waits for a person who is switched off or unsubscribed', async () => {
      const [home, ada, ben] = await people('Ada', 'Ben');
      await given.store.addMessages([messageTo(ada!, 'a1'), messageTo(ada!, 'a2'), messageTo(ben!, 'b1')]);
      await given.store.claimDue(NEW_YEAR, until, 1);
      await given.store.changeRecipient(home.id, ada!.id, { unsubscribedAt: NEW_YEAR + 1 }, NEW_YEAR + 1);
      await given.store.changeRecipient(home.id, ben!.id, { active: false }, NEW_YEAR + 2);
      await given.store.addMessages([messageTo(ada!, 'a3')]);
      const again = { kind: 'again', code: 'busy', detail: 'busy', nextAt: NEW_YEAR + HOUR } as const;
      await given.store.finishAttempt(home.id, 'a1', 1, again, NEW_YEAR + 3);
      const states = (await given.store.deliveries(home.id, {}, 10)).map(({ id, state }) => [id, state]);
      expect(states).toEqual([
        ['a3', 'withdrawn'],
        ['b1', 'withdrawn'],
        ['a2', 'withdrawn'],
        ['a1', 'withdrawn'],
      ]);
      await given.store.changeRecipient(home.id, ben!.id, { active: true }, NEW_YEAR + 4);
      expect(await given.store.claimDue(NEW_YEAR + DAY, NEW_YEAR + 2 * DAY, 10)).toEqual([]);
    });

    test('takes a new message out of turn when asked to', async () => {
      const [home, ada] = await people('Ada');
      await given.store.addMessages([messageTo(ada!, 'a1')]);
      await given.store.claimDue(NEW_YEAR, until, 10);
      const test1 = messageTo(ada!, 'test-1', { event: 'test' });
      const claimed = await given.store.claimNew(test1, until);
      expect(claimed).toMatchObject({ delivery: { id: 'test-1', state: 'sending', attempts: 1 }, recipient: ada });
      await expect(given.store.claimNew(test1, until)).rejects.toMatchObject({ fault: 'already-there' });
      await expect(given.store.claimNew(messageTo({ ...ada!, id: 9 }, 'x'), until)).rejects.toMatchObject({
        fault: 'not-found',
      });
      expect(await given.store.deliveries(home.id, { recipientId: ada!.id }, 10)).toHaveLength(2);
      expect(await given.store.deliveries(home.id, { recipientId: 9 }, 10)).toEqual([]);
    });

    test('hands each message to one of several processes, one at a time for each recipient, in order', async () => {
      const [home, ...everybody] = await people('Ada', 'Ben', 'Cy', 'Dot', 'Eve');
      const messages = everybody.flatMap((to, k) => [1, 2, 3, 4].map((n) => messageTo(to, `to-${k}-${n}`)));
      await given.store.addMessages(messages);
      const underWay = new Set<number>();
      const taken: string[] = [];
      const send = async (store: Store): Promise<void> => {
        for (let idle = 0; idle < 20; ) {
          const claimed = await store.claimDue(NEW_YEAR, until, 2);
          idle = claimed.length === 0 ? idle + 1 : 0;
          for (const { delivery, recipient } of claimed) {
            expect(underWay.has(recipient.id)).toBe(false);
            underWay.add(recipient.id);
            taken.push(delivery.id);
            await setImmediate();
            underWay.delete(recipient.id);
            const end = { kind: 'sent', code: 'taken', detail: '' } as const;
            expect(await store.finishAttempt(home.id, delivery.id, delivery.attempts, end, NEW_YEAR)).toBe(true);
          }
        }
      };
      const stores = [given.store, await given.another(), await given.another(), await given.another()];
      await Promise.all(stores.map(send));
      expect([...taken].sort()).toEqual(messages.map(({ id }) => id).sort());
      for (const [k] of everybody.entries()) {
        const inOrder = taken.filter((id) => id.startsWith(`to-${k}-`));
        expect(inOrder).toEqual([1, 2, 3, 4].map((n) => `to-${k}-${n}`));
      }
      expect(await given.store.countDeliveries(home.id)).toMatchObject({ sent: messages.length, waiting: 0 });
    });

    test('keeps a message once when several processes put it in at the same time', async () => {
      const [home, ada] = await people('Ada');
      const stores = [given.store, await given.another(), await given.another()];
      const added = await Promise.all(stores.map((store) => store.addMessages([messageTo(ada!, 'a1')])));
      expect(added.sort()).toEqual([0, 0, 1]);
      expect(await given.store.deliveries(home.id, {}, 10)).toHaveLength(1);
    });

    test('keeps dwellings apart and forgets what was finished long ago', async () => {
      const [home, ada] = await people('Ada');
      const other = await givenDwelling(given.store, 'gable-cottage');
      const cy = await given.store.addRecipient(recipientOf(other, { name: 'Cy' }));
      await given.store.addMessages([messageTo(ada!, 'm1'), messageTo(cy, 'm1'), messageTo(cy, 'm2')]);
      expect(await given.store.claimDue(NEW_YEAR, until, 10)).toMatchObject([
        { recipient: { name: 'Ada' } },
        { recipient: { name: 'Cy' } },
      ]);
      await given.store.finishAttempt(other.id, 'm1', 1, { kind: 'sent', code: 'taken', detail: '' }, NEW_YEAR + 1);
      expect(await given.store.deliveries(home.id, {}, 10)).toMatchObject([{ state: 'sending' }]);
      expect(await given.store.forgetFinished(NEW_YEAR + 1)).toBe(0);
      expect(await given.store.forgetFinished(NEW_YEAR + 2)).toBe(1);
      expect((await given.store.deliveries(other.id, {}, 10)).map(({ id }) => id)).toEqual(['m2']);
    });
  });

  test('an installation has one key, made once, that nobody could guess', async () => {
    const key = await given.store.installationKey();
    expect(key).toHaveLength(32);
    expect(new Set(key).size).toBeGreaterThan(10);
    await given.reopen();
    expect(await given.store.installationKey()).toEqual(key);
    expect(await (await given.another()).installationKey()).toEqual(key);
  });
}
