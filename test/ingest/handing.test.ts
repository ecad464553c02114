import { once } from 'node:events';
import { MessageChannel } from 'node:worker_threads';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createGiver, createTaker, type Giver } from '../../server/ingest/handing.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import { everyReading, type Home, openHome, quarantineCodes } from './home.ts';

const now = Date.UTC(2026, 0, 31, 17, 20, 0);
let home: Home;
let writer: Writer;
let isAway: boolean;
let giver: Giver;
let channel: MessageChannel;
let handings: number;
beforeEach(async () => {
  home = await openHome();
  writer = createWriter(home.store);
  isAway = false;
  handings = 0;
  const receiver = createReceiver(
    {
      dwellings: () => (isAway ? Promise.reject(new Error('the database is locked')) : home.store.dwellings()),
      mappings: () => home.store.mappings(),
    },
    writer,
    () => now,
  );
  channel = new MessageChannel();
  giver = createGiver((word, transferred) => channel.port1.postMessage(word, transferred));
  const take = createTaker(receiver, (word) => channel.port2.postMessage(word));
  channel.port2.on('message', (word) => {
    handings++;
    take(word);
  });
  channel.port1.on('message', giver.hear);
});
afterEach(async () => {
  channel.port1.close();
  await once(channel.port2, 'close');
  await writer.close();
  await home.close();
});

const give = (topic: string, text: string, delivery: 'live' | 'retained' = 'live'): Promise<string> =>
  new Promise((resolve) => {
    giver.give(topic, Buffer.from(text), delivery, (error) => resolve(error === null ? 'taken' : error.message));
  });
const temperatures = async () => (await everyReading(home.store, home.dwellingId)).map(([, , , value]) => value);

it('a message in the midst of others that must be sent again is the only one that must', async () => {
  expect(await give('coomb/gable-cottage/loft', '{"temperature_c": 0}')).toBe('taken');
  isAway = true;
  const answers = Promise.all([
    give('coomb/gable-cottage/loft', '{"temperature_c": 1, "time": "2026-01-31T12:01:00Z"}'),
    give('coomb/castle/loft', '{"temperature_c": 2, "time": "2026-01-31T12:02:00Z"}'),
    give('coomb/gable-cottage/loft', '{"temperature_c": 33, "time": "2026-01-31T12:03:00Z"}'),
  ]);
  expect(await answers).toEqual(['taken', 'the database is locked', 'taken']);
  expect(handings).toBe(2);
  expect(await temperatures()).toEqual([1, 33, 0]);
});

it('a retained message in the midst of live ones is known as one', async () => {
  await Promise.all([
    give('coomb/gable-cottage/loft', '{"temperature_c": 1}'),
    give('coomb/gable-cottage/eaves', '{"temperature_c": 2}', 'retained'),
    give('coomb/gable-cottage/edge', ''),
  ]);
  expect(await temperatures()).toEqual([1]);
  expect(await quarantineCodes(home.store)).toEqual(['empty']);
});

it('more messages than are handed over at once are each answered, and each stored once', async () => {
  const sent = Array.from({ length: 501 }, (_, k) => k / 100);
  const answers = sent.map((value, k) =>
    give('coomb/gable-cottage/loft', JSON.stringify({ temperature_c: value, time: (now - 600_000) / 1000 + k })),
  );
  expect(new Set(await Promise.all(answers))).toEqual(new Set(['taken']));
  expect(handings).toBe(3);
  expect(await temperatures()).toEqual(sent);
});

it('large messages are not handed over all at once, however many come', async () => {
  const note = 'x'.repeat(100 << 10);
  const sent = Array.from({ length: 10 }, (_, k) => k);
  const answers = sent.map((value, k) =>
    give('coomb/gable-cottage/loft', JSON.stringify({ temperature_c: value, time: now / 1000 - 600 + k, note })),
  );
  expect(new Set(await Promise.all(answers))).toEqual(new Set(['taken']));
  expect(handings).toBe(4);
  expect(await temperatures()).toEqual(sent);
});
