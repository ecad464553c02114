import { afterEach, beforeEach, expect, it } from 'vitest';
import { type LimitedStore, limitQuarantine, OTHER_SENDERS, senderOf } from '../../server/ingest/quarantine-limit.ts';
import { createReceiver, type Receiver } from '../../server/ingest/receiver.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import { everyReading, type Home, openHome } from './home.ts';

const KIB = 1024;
const limit = { senderBytes: 64 * KIB, totalBytes: 160 * KIB, rowBytes: 512, named: 3 };
const bad = Buffer.from('x'.repeat(512));
let home: Home;
let writer: Writer;
let receiver: Receiver;
let limited: LimitedStore;
let now: number;
let said: object[];

function start(): void {
  said = [];
  const log = { info: () => undefined, warn: (detail: object) => void said.push(detail) };
  limited = limitQuarantine(home.store, () => now, limit, log);
  writer = createWriter(limited);
  receiver = createReceiver(home.store, writer, () => now);
}
beforeEach(async () => {
  now = Date.UTC(2026, 0, 5);
  home = await openHome();
  start();
});
afterEach(async () => {
  await writer.close();
  await home.close();
});

const sendBad = (topic: string, count: number) =>
  Promise.all(Array.from({ length: count }, () => receiver.receive('mqtt', topic, bad)));
const held = async () => (await home.store.quarantineSizes()).reduce((sum, { messages }) => sum + messages * KIB, 0);
const notKept = async () => (await home.store.quarantineNotKept()).map(({ sender, messages }) => [sender, messages]);

it('a flood of messages that nobody understands takes no more than its room, and what is not kept is counted', async () => {
  for (let n = 0; n < 5; n++) await sendBad(`coomb/gable-cottage/s${n}`, 50);
  expect(await held()).toBe(limit.senderBytes);
  expect(await notKept()).toEqual([['coomb/gable-cottage', 250 - 64]]);
  expect(limited.full()).toEqual(['coomb/gable-cottage']);
  expect(limited.notKept()).toBe(250 - 64);
  expect(said).toEqual([{ sender: 'coomb/gable-cottage' }]);
  // an hour without
  now += 3_600_000;
  expect(limited.full()).toEqual([]);
});

it('readings are all kept meanwhile, those in the same message as something bad too', async () => {
  await sendBad('coomb/gable-cottage/a', 100);
  await Promise.all(
    Array.from({ length: 200 }, (_, n) =>
      receiver.receive(
        'mqtt',
        'coomb/gable-cottage/loft',
        Buffer.from(
          JSON.stringify([
            { time: now - n * 1000, temperature_c: 12 },
            { time: now - n * 1000, temperature_c: 'warm' },
          ]),
        ),
      ),
    ),
  );
  expect((await everyReading(home.store, home.dwellingId)).filter(([key]) => key === 'loft')).toHaveLength(200);
  expect(await held()).toBeLessThanOrEqual(limit.senderBytes);
});

it('one sender’s flood leaves room for another’s messages, until there is none at all', async () => {
  await sendBad('coomb/gable-cottage/a', 100);
  await sendBad('attic/beam', 10);
  expect(await home.store.quarantined('attic/beam', 100)).toHaveLength(10);
  // more senders than are counted by name
  for (let n = 0; n < 300; n++) await sendBad(`x${n}/y`, 2);
  expect(await held()).toBeLessThanOrEqual(limit.totalBytes);
  expect(await held()).toBeGreaterThan(limit.totalBytes - 2 * KIB);
  const counts = await notKept();
  expect(counts).toHaveLength(limit.named + 1);
  expect(counts.map(([sender]) => sender)).toContain(OTHER_SENDERS);
  const sent = 100 + 10 + 600;
  expect(counts.reduce((sum, [, messages]) => sum + Number(messages), 0)).toBe(sent - (await held()) / KIB);
});

it('what was kept and counted before a restart counts after it', async () => {
  await sendBad('coomb/gable-cottage/a', 60);
  await writer.close();
  start();
  await sendBad('coomb/gable-cottage/a', 60);
  expect(await held()).toBe(limit.senderBytes);
  await writer.close();
  start();
  await sendBad('coomb/gable-cottage/a', 1);
  expect(await notKept()).toEqual([['coomb/gable-cottage', 57]]);
});

it('room that an owner made is found within a minute', async () => {
  await sendBad('coomb/gable-cottage/a', 70);
  expect(await home.store.removeQuarantined(1000)).toBe(64);
  expect(await notKept()).toEqual([]);
  now += 60_000;
  await sendBad('coomb/gable-cottage/a', 10);
  expect(await held()).toBe(10 * KIB);
  expect(await notKept()).toEqual([]);
});

it('a batch that the store refuses changes no count', async () => {
  let refuse = true;
  const failing = limitQuarantine(
    {
      quarantineSizes: () => home.store.quarantineSizes(),
      quarantineNotKept: () => home.store.quarantineNotKept(),
      append: async (batch) => {
        if (refuse) throw new Error('disk full');
        return home.store.append(batch);
      },
    },
    () => now,
    limit,
  );
  const message = { receivedAt: now, source: 'mqtt', topic: 'coomb/a/b', payload: bad, code: 'x', message: 'y' };
  const batch = { receivedAt: now, readings: [], quarantined: Array.from({ length: 70 }, () => message) };
  for (let n = 0; n < 3; n++) await expect(failing.append(batch)).rejects.toThrow('disk full');
  expect([failing.notKept(), failing.full()]).toEqual([0, []]);
  refuse = false;
  await failing.append(batch);
  expect(await held()).toBe(limit.senderBytes);
  expect(failing.notKept()).toBe(6);
});

it.each([
  ['coomb/larch/loft', 'coomb/larch'],
  ['coomb/larch', 'coomb/larch'],
  ['attic/beam/state', 'attic'],
  ['shed', 'shed'],
  ['', ''],
])('the sender of %j is %j', (topic, sender) => {
  expect(senderOf(topic)).toBe(sender);
});
