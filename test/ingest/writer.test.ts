import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createWriter, type Message, WriteRefused, writerOptions } from '../../server/ingest/writer.ts';
import { type Batch, type IncomingReading, type Store, StoreError } from '../../server/store/port.ts';
import { everyReading, gate, type Home, openHome, quarantineCodes } from './home.ts';

let home: Home;
beforeEach(async () => {
  home = await openHome();
});
afterEach(() => home.close());

const start = Date.UTC(2026, 0, 5, 6);

function message(n: number, change: Partial<IncomingReading> = {}): Message {
  const reading = {
    dwellingId: home.dwellingId,
    sensorKey: 'eaves',
    quantity: 'temperature',
    time: start + n,
    value: n % 50,
  };
  return {
    receivedAt: start,
    source: 'mqtt',
    topic: 'coomb/gable-cottage/eaves',
    payload: Buffer.from(`{"temperature_c": ${n}}`),
    readings: [{ ...reading, ...change } as IncomingReading],
    fault: null,
  };
}

/** The real store, with a hand on when and how its commits end. */
function meddledStore(before: (batch: Batch, commit: number) => Promise<void>): Pick<Store, 'append'> {
  let commit = 0;
  return {
    async append(batch) {
      await before(batch, commit++);
      return home.store.append(batch);
    },
  };
}

const quick = { ...writerOptions, retryMs: 1, longestRetryMs: 4 };

describe('the writer', () => {
  it('promises nothing before the commit that holds the message', async () => {
    const held = gate();
    const writer = createWriter(meddledStore(() => held.opened));
    const events: string[] = [];
    const written = writer.write([message(1)]).then(() => events.push('acknowledged'));
    await new Promise((resolve) => setImmediate(resolve));
    events.push('commit begins');
    expect(await home.store.countReadings(home.dwellingId)).toBe(0);
    held.open();
    await written;
    expect(events).toEqual(['commit begins', 'acknowledged']);
    expect(await everyReading(home.store, home.dwellingId)).toEqual([['eaves', 'temperature', start + 1, 1]]);
    await writer.close();
  });

  it('gathers what comes while a commit runs into the next one', async () => {
    const held = gate();
    const sizes: number[] = [];
    const writer = createWriter(
      meddledStore(async ({ readings }, commit) => {
        sizes.push(readings.length);
        if (commit === 0) await held.opened;
      }),
    );
    const first = writer.write([message(0)]);
    while (sizes.length === 0) await new Promise((resolve) => setImmediate(resolve));
    const rest = Array.from({ length: 400 }, (_, i) => writer.write([message(i + 1)]));
    held.open();
    await Promise.all([first, ...rest]);
    expect(sizes).toEqual([1, 400]);
    await writer.close();
  });

  it('closes a group that has reached its size', async () => {
    const sizes: number[] = [];
    const writer = createWriter(
      meddledStore(async ({ readings }) => {
        sizes.push(readings.length);
      }),
      { ...writerOptions, groupReadings: 100 },
    );
    await Promise.all(Array.from({ length: 250 }, (_, i) => writer.write([message(i)])));
    expect(sizes).toEqual([100, 100, 50]);
    await writer.close();
  });

  it.each(['full', 'busy', 'read-only', 'failed'] as const)(
    'holds what it has while the store is %s, says so, and stores it all afterwards, once',
    async (fault) => {
      let broken = true;
      const writer = createWriter(
        meddledStore(async () => {
          if (broken) throw new StoreError(fault, `the store is ${fault}`);
        }),
        quick,
      );
      let acknowledged = 0;
      const all = Array.from({ length: 50 }, (_, i) => writer.write([message(i)]).then(() => acknowledged++));
      while (writer.state().healthy) await new Promise((resolve) => setTimeout(resolve, 1));
      expect(writer.state()).toMatchObject({ lastError: `the store is ${fault}`, heldMessages: 50 });
      expect(acknowledged).toBe(0);
      broken = false;
      await Promise.all(all);
      expect(writer.state()).toMatchObject({ healthy: true, lastError: null, heldMessages: 0, heldReadings: 0 });
      expect(await home.store.countReadings(home.dwellingId)).toBe(50);
      expect(await home.store.countQuarantined()).toBe(0);
      await writer.close();
    },
  );

  it('sets aside the one message the store can never take, and stores the others in order', async () => {
    const writer = createWriter(home.store, quick);
    const committed: number[] = [];
    writer.onCommitted((readings) => committed.push(...readings.map(({ value }) => value)));
    const all = [
      ...Array.from({ length: 10 }, (_, i) => writer.write([message(i)])),
      writer.write([message(10, { dwellingId: 999 })]),
      writer.write([message(11, { sensorKey: '' })]),
      ...Array.from({ length: 10 }, (_, i) => writer.write([message(i + 12)])),
    ];
    await Promise.all(all);
    expect(committed).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21]);
    expect(await home.store.countReadings(home.dwellingId)).toBe(20);
    expect(await quarantineCodes(home.store)).toEqual(expect.arrayContaining(['not-stored']));
    expect(await home.store.countQuarantined()).toBe(2);
    await writer.close();
  });

  it('sets aside the one message of a lot the store can never take, and stores the rest of the lot', async () => {
    const writer = createWriter(home.store, quick);
    await Promise.all([
      writer.write([message(0), message(1, { dwellingId: 999 }), message(2)]),
      writer.write([message(3), message(4)]),
    ]);
    expect((await everyReading(home.store, home.dwellingId)).map(([, , , value]) => value)).toEqual([0, 2, 3, 4]);
    expect(await quarantineCodes(home.store)).toEqual(['not-stored']);
    await writer.close();
  });

  it('closed while the disk is full tells which of a lot are stored', async () => {
    const writer = createWriter(
      meddledStore(async ({ readings }) => {
        if (readings.length > 2) throw new StoreError('failed', 'one of these is bad');
        if (readings.some(({ value }) => value > 1)) throw new StoreError('full', 'the disk is full');
      }),
    );
    const lot = Array.from({ length: 4 }, (_, i) => message(i));
    const written = writer.write(lot).catch((error: unknown) => error);
    while (writer.state().healthy) await new Promise((resolve) => setTimeout(resolve, 1));
    await writer.close();
    expect(await written).toMatchObject({ name: 'WriteRefused', reason: 'closed', which: [2, 3] });
    expect((await everyReading(home.store, home.dwellingId)).map(([, , , value]) => value)).toEqual([0, 1]);
    expect(writer.state()).toMatchObject({ heldMessages: 0, heldReadings: 0, committedMessages: 2 });
  });

  it('refuses more than it may hold, and has room again after a commit', async () => {
    const held = gate();
    const writer = createWriter(
      meddledStore(() => held.opened),
      { ...writerOptions, heldReadings: 10 },
    );
    const kept = Array.from({ length: 20 }, (_, i) => writer.write([message(i)]));
    expect(writer.hasRoom()).toBe(false);
    await expect(writer.write([message(21)])).rejects.toMatchObject({ name: 'WriteRefused', reason: 'full' });
    const room = writer.room();
    held.open();
    await Promise.all([room, ...kept]);
    expect(writer.hasRoom()).toBe(true);
    await writer.write([message(21)]);
    expect(await home.store.countReadings(home.dwellingId)).toBe(21);
    await writer.close();
  });

  it('counts bytes as well as readings', async () => {
    const held = gate();
    const writer = createWriter(
      meddledStore(() => held.opened),
      { ...writerOptions, heldBytes: 1000 },
    );
    const large = { ...message(1), payload: Buffer.alloc(2000), readings: [], fault: { code: 'x', message: 'y' } };
    const kept = writer.write([large]);
    await expect(writer.write([message(2)])).rejects.toBeInstanceOf(WriteRefused);
    held.open();
    await kept;
    await writer.close();
  });

  it('stores what it holds when closed, and takes no more', async () => {
    const writer = createWriter(home.store);
    const kept = Array.from({ length: 30 }, (_, i) => writer.write([message(i)]));
    await writer.close();
    await Promise.all(kept);
    expect(await home.store.countReadings(home.dwellingId)).toBe(30);
    await expect(writer.write([message(31)])).rejects.toMatchObject({ reason: 'closed' });
  });

  it('closed while the disk is full acknowledges nothing it could not store', async () => {
    const writer = createWriter(
      meddledStore(async () => {
        throw new StoreError('full', 'the disk is full');
      }),
      writerOptions,
    );
    const kept = Promise.allSettled(Array.from({ length: 5 }, (_, i) => writer.write([message(i)])));
    while (writer.state().healthy) await new Promise((resolve) => setTimeout(resolve, 1));
    await writer.close();
    for (const outcome of await kept) {
      expect(outcome).toMatchObject({ status: 'rejected', reason: { name: 'WriteRefused', reason: 'closed' } });
    }
    expect(writer.state()).toMatchObject({ heldMessages: 0, heldReadings: 0 });
  });

  it('goes on when a listener fails', async () => {
    const writer = createWriter(home.store);
    let heard = 0;
    writer.onCommitted(() => {
      throw new Error('a browser went away');
    });
    const stop = writer.onCommitted((readings) => {
      heard += readings.length;
    });
    await writer.write([message(1)]);
    stop();
    await writer.write([message(2)]);
    expect(heard).toBe(1);
    await writer.idle();
    await writer.close();
  });
});
