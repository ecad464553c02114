import { expect, it } from 'vitest';
import { payloadLimits } from '../../server/ingest/payload.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { understand } from '../../server/ingest/understand.ts';
import { createWriter } from '../../server/ingest/writer.ts';
import { everyReading, openHome } from './home.ts';
import { knownHome, mappingOf, mutator, RECEIVED_AT, unsound } from './mutations.ts';

it('a hundred thousand damaged messages are each understood or turned away with a reason', () => {
  const next = mutator(1);
  const known = knownHome(1);
  const outcomes = new Map<string, number>();
  for (let k = 0; k < 100_000; k++) {
    const { topic, payload } = next();
    const understood = understand(topic, payload, RECEIVED_AT, known, payloadLimits);
    const wrong = unsound(understood);
    if (wrong !== null) throw new Error(`${wrong}: ${topic} ${Buffer.from(payload).toString('base64')}`);
    const outcome = understood.fault?.code ?? 'readings';
    outcomes.set(outcome, (outcomes.get(outcome) ?? 0) + 1);
  }
  // the damage is neither so slight nor so heavy that one way out is never taken
  for (const expected of [
    'readings',
    'not-json',
    'empty',
    'out-of-range',
    'not-finite',
    'bad-time',
    'clock-too-early',
    'clock-ahead',
    'bad-base',
    'bad-name',
    'not-one-value',
    'unknown-field',
    'newer-version',
    'unknown-topic',
    'unknown-dwelling',
    'mapping-finds-nothing',
    'no-known-quantity',
  ]) {
    expect([expected, (outcomes.get(expected) ?? 0) > 0]).toEqual([expected, true]);
  }
});

it('of ten thousand damaged messages every one is stored, ignored with a reason or in quarantine', async () => {
  const home = await openHome();
  await home.store.addMapping(mappingOf(home.dwellingId));
  const writer = createWriter(home.store);
  const receiver = createReceiver(home.store, writer, () => RECEIVED_AT);
  const next = mutator(2);
  let setAside = 0;
  let ignored = 0;
  let stored = 0;
  for (let group = 0; group < 100; group++) {
    const receipts = await Promise.all(
      Array.from({ length: 100 }, (_, k) => {
        const { topic, payload } = next();
        return receiver.receive('mqtt', topic, payload, k % 10 === 0 ? 'retained' : 'live');
      }),
    );
    for (const receipt of receipts) {
      if (receipt.kind === 'ignored') ignored++;
      else if (receipt.kind === 'stored') stored++;
      if (receipt.kind !== 'ignored' && receipt.fault !== null) setAside++;
    }
  }
  expect(ignored).toBeGreaterThan(0);
  expect(stored).toBeGreaterThan(500);
  expect(await home.store.countQuarantined()).toBe(setAside);
  const conflicts = await home.store.conflicts(home.dwellingId, 100_000);
  expect(receiver.counts().messages).toBe(10_000);
  expect(receiver.counts().readings).toBeGreaterThanOrEqual((await everyReading(home.store, home.dwellingId)).length);
  expect(conflicts.length).toBeGreaterThan(0);
  expect(writer.state()).toMatchObject({ healthy: true, heldMessages: 0, committedMessages: 10_000 - ignored });
  await writer.close();
  await home.close();
});
