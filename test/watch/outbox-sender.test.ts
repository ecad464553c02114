import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { createOutboxSender, type OutboxSender, senderSettings } from '../../server/watch/outbox-sender.ts';
import { retryPause, retrySettings } from '../../server/watch/retry.ts';
import { busy, givenDwelling, givenRecipient, messageTo, refused, taken, worldOf } from './outbox-world.ts';
import { NOW } from './parcels.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;

let store: Store;
const senders: OutboxSender[] = [];
beforeEach(async () => {
  store = await openSqliteStore(':memory:');
});
afterEach(async () => {
  for (const sender of senders.splice(0)) await sender.close();
  await store.close();
});

const sending = (parts: Parameters<typeof createOutboxSender>[0]): OutboxSender => {
  const sender = createOutboxSender(parts);
  senders.push(sender);
  return sender;
};

const stateOf = async (dwellingId: number, id: string) =>
  (await store.deliveries(dwellingId, {}, 100)).find((one) => one.id === id)!;

describe('the sender', () => {
  test('delivers what is in the outbox, in order, and writes every attempt down', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1'), messageTo(ada, 'm2'), messageTo(ada, 'm3')]);
    const changed: number[] = [];
    const world = worldOf(store, { onChanged: (id) => changed.push(id) });
    await sending(world.parts).settled();
    expect(world.attempted.map(({ delivery }) => delivery.id)).toEqual(['m1', 'm2', 'm3']);
    expect(await store.countDeliveries(home.id)).toMatchObject({ sent: 3, waiting: 0, sending: 0 });
    expect(await store.deliveryAttempts(home.id, ['m2'])).toMatchObject([
      { number: 1, outcome: 'sent', code: 'taken', detail: '250 ok', startedAt: NOW, endedAt: NOW },
    ]);
    expect(changed).toEqual([home.id, home.id, home.id]);
    expect(new Set(world.attempted.map(({ key }) => key)).size).toBe(3);
  });

  test('goes on by itself when something new is put in', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    const world = worldOf(store);
    const sender = sending(world.parts);
    await sender.settled();
    await store.addMessages([messageTo(ada, 'm1')]);
    while (world.attempted.length === 0) await new Promise((resolve) => setTimeout(resolve, 5));
    await store.addMessages([messageTo(ada, 'm2')]);
    sender.wake();
    await sender.settled();
    expect(world.attempted).toHaveLength(2);
  });

  test('holds a message back until its time has come', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'morning', { notBefore: NOW + 8 * HOUR }), messageTo(ada, 'now')]);
    const world = worldOf(store);
    const sender = sending(world.parts);
    await sender.settled();
    expect(world.attempted.map(({ delivery }) => delivery.id)).toEqual(['now']);
    world.now = NOW + 8 * HOUR - 1;
    await sender.settled();
    expect(world.attempted).toHaveLength(1);
    world.now += 1;
    await sender.settled();
    expect(world.attempted.map(({ delivery }) => delivery.id)).toEqual(['now', 'morning']);
  });

  test('tries again with growing pauses, the message’s key the same, and keeps the order', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1'), messageTo(ada, 'm2')]);
    const world = worldOf(store);
    let failures = 4;
    world.answer = () => (failures-- > 0 ? busy : taken);
    const sender = sending(world.parts);
    const pauses: number[] = [];
    for (;;) {
      await sender.settled();
      const { state, nextAt } = await stateOf(home.id, 'm1');
      if (state === 'sent') break;
      pauses.push(nextAt - world.now);
      world.now = nextAt - 1;
      const before = world.attempted.length;
      await sender.settled();
      expect(world.attempted).toHaveLength(before);
      world.now = nextAt;
    }
    expect(pauses).toEqual([30_000, 60_000, 120_000, 240_000]);
    const about = world.attempted.map(({ delivery }) => delivery.id);
    expect(about).toEqual(['m1', 'm1', 'm1', 'm1', 'm1', 'm2']);
    expect(new Set(world.attempted.slice(0, 5).map(({ key }) => key)).size).toBe(1);
    expect((await store.deliveryAttempts(home.id, ['m1'])).map(({ outcome }) => outcome)).toEqual([
      ...Array.from({ length: 4 }, () => 'failed-for-now'),
      'sent',
    ]);
  });

  test('waits as long as the other side asks', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1')]);
    const world = worldOf(store);
    world.answer = () => ({ ...busy, retryAfterMs: HOUR }) as typeof busy;
    await sending(world.parts).settled();
    expect(await stateOf(home.id, 'm1')).toMatchObject({ state: 'waiting', nextAt: NOW + HOUR });
  });

  test('gives up at once what is refused for good, and goes on with the next', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1'), messageTo(ada, 'm2')]);
    const world = worldOf(store);
    world.answer = ({ delivery }) => (delivery.id === 'm1' ? refused : taken);
    await sending(world.parts).settled();
    expect(await stateOf(home.id, 'm1')).toMatchObject({ state: 'given-up', attempts: 1 });
    expect(await stateOf(home.id, 'm2')).toMatchObject({ state: 'sent' });
  });

  test('gives up after two days of trying; a try asked for by hand has two days again', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1')]);
    const world = worldOf(store);
    world.answer = () => busy;
    const sender = sending(world.parts);
    const untilGivenUp = async (): Promise<number> => {
      const from = world.now;
      for (;;) {
        await sender.settled();
        const { state, nextAt } = await stateOf(home.id, 'm1');
        if (state === 'given-up') return world.now - from;
        world.now = nextAt;
      }
    };
    const first = await untilGivenUp();
    expect(first).toBeGreaterThan(46 * HOUR);
    expect(first).toBeLessThanOrEqual(48 * HOUR);
    expect(await store.countDeliveries(home.id)).toMatchObject({ 'given-up': 1 });
    await store.retryMessage(home.id, 'm1', world.now);
    expect(await untilGivenUp()).toBe(first);
    world.answer = () => taken;
    await store.retryMessage(home.id, 'm1', world.now);
    await sender.settled();
    expect(await stateOf(home.id, 'm1')).toMatchObject({ state: 'sent' });
  });

  test('is not held up by recipients that hang, of this dwelling or another', async () => {
    const home = await givenDwelling(store);
    const other = await givenDwelling(store, 'gable-cottage');
    const slow = await givenRecipient(store, home, { name: 'slow' });
    const quick = await givenRecipient(store, home, { name: 'quick' });
    const next = await givenRecipient(store, other, { name: 'next' });
    await store.addMessages([messageTo(slow, 's1'), messageTo(slow, 's2')]);
    await store.addMessages([messageTo(quick, 'q1'), messageTo(quick, 'q2'), messageTo(next, 'q1')]);
    const world = worldOf(store);
    let letGo = (): void => undefined;
    const hanging = new Promise<typeof taken>((resolve) => {
      letGo = () => resolve(taken);
    });
    world.answer = ({ recipient }) => (recipient.name === 'slow' ? hanging : taken);
    const sender = sending(world.parts);
    while ((await store.countDeliveries(home.id)).sent < 2) await new Promise((resolve) => setTimeout(resolve, 2));
    expect(await store.countDeliveries(home.id)).toMatchObject({ sending: 1, waiting: 1, sent: 2 });
    expect(await store.countDeliveries(other.id)).toMatchObject({ sent: 1 });
    letGo();
    await sender.settled();
    expect(await store.countDeliveries(home.id)).toMatchObject({ sent: 4 });
  });

  test('takes an attempt that never ends, or a channel that breaks, for one that failed', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    const ben = await givenRecipient(store, home, { name: 'Ben' });
    await store.addMessages([messageTo(ada, 'a1'), messageTo(ben, 'b1')]);
    const world = worldOf(store, { settings: { ...senderSettings, attemptMs: 20 } });
    world.answer = ({ recipient }) => {
      if (recipient.id === ben.id) throw new Error('broken');
      return new Promise(() => undefined);
    };
    await sending(world.parts).settled();
    expect(await store.deliveryAttempts(home.id, ['a1', 'b1'])).toMatchObject([
      { messageId: 'a1', outcome: 'failed-for-now', code: 'timed-out' },
      { messageId: 'b1', outcome: 'failed-for-now', code: 'failed', detail: 'broken' },
    ]);
  });

  test('attempts a test at once and only once, before what waits', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1')]);
    const world = worldOf(store);
    world.answer = () => busy;
    const sender = sending(world.parts);
    await sender.settled();
    await sender.sendNow(messageTo(ada, 'test-1', { event: 'test' }));
    expect(await stateOf(home.id, 'test-1')).toMatchObject({ state: 'given-up', attempts: 1 });
    expect(await store.deliveryAttempts(home.id, ['test-1'])).toMatchObject([
      { outcome: 'failed-for-now', code: 'busy' },
    ]);
    expect(await stateOf(home.id, 'm1')).toMatchObject({ state: 'waiting', attempts: 1 });
  });

  test('stops in order: what runs may end, nothing new begins, and the rest is there for the next start', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1'), messageTo(ada, 'm2')]);
    const world = worldOf(store);
    const began = new Promise<void>((resolve) => {
      world.answer = async () => {
        resolve();
        await new Promise((done) => setTimeout(done, 50));
        return taken;
      };
    });
    const first = createOutboxSender(world.parts);
    await began;
    await first.close();
    expect(await store.countDeliveries(home.id)).toMatchObject({ sent: 1, waiting: 1 });
    await sending(world.parts).settled();
    expect(await store.countDeliveries(home.id)).toMatchObject({ sent: 2 });
    expect(world.attempted).toHaveLength(2);
  });

  test('takes up what a program that was killed had begun, once its claim has run out', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1')]);
    await store.claimDue(NOW, NOW + senderSettings.claimMs, 1);
    const world = worldOf(store);
    const sender = sending(world.parts);
    await sender.settled();
    expect(world.attempted).toHaveLength(0);
    world.now = NOW + senderSettings.claimMs;
    await sender.settled();
    expect(world.attempted).toHaveLength(1);
    expect((await store.deliveryAttempts(home.id, ['m1'])).map(({ outcome }) => outcome)).toEqual(['unknown', 'sent']);
  });

  test('says when the outbox cannot be written, and goes on once it can', async () => {
    const home = await givenDwelling(store);
    const ada = await givenRecipient(store, home);
    await store.addMessages([messageTo(ada, 'm1')]);
    let broken = true;
    const world = worldOf({
      ...store,
      claimDue: (...given) => (broken ? Promise.reject(new Error('the disk is full')) : store.claimDue(...given)),
    });
    const sender = sending(world.parts);
    await sender.settled();
    expect(sender.lastError()).toBe('the disk is full');
    broken = false;
    while (world.attempted.length === 0) await new Promise((resolve) => setTimeout(resolve, 5));
    await sender.settled();
    expect(sender.lastError()).toBeNull();
  });
});

describe('the pause before another try', () => {
  test('doubles from half a minute to an hour, at least half of it and never more', () => {
    for (const [attempts, full] of [
      [1, 30_000],
      [2, 60_000],
      [5, 480_000],
      [8, HOUR],
      [1000, HOUR],
    ] as const) {
      expect(retryPause(attempts, 1, null)).toBe(full);
      expect(retryPause(attempts, 0, null)).toBe(full / 2);
      expect(retryPause(attempts, 0.5, null)).toBe(full * 0.75);
    }
    expect(retryPause(1, 0, 5 * MINUTE)).toBe(5 * MINUTE);
    expect(retryPause(9, 0, MINUTE)).toBe(retrySettings.longestMs / 2);
  });
});
