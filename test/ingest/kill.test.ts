import type { MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { everyReading, type Home, openHome } from './home.ts';
import { connectTo, startChild } from './processes.ts';

const start = Date.UTC(2026, 0, 5);
const rounds = 10;
const devices = 5;

let home: Home;
beforeEach(async () => {
  home = await openHome();
});
afterEach(() => home.close());

/** Reading number `n`: an instant of its own, on one of a few sensors. */
const topicOf = (n: number): string => `coomb/gable-cottage/s${n % 7}`;
const textOf = (n: number): string => JSON.stringify({ time: start + n, temperature_c: (n % 400) / 10 });

/** Publishes readings at QoS 1 from a shared counter until its connection breaks, and notes which were acknowledged. */
async function publishUntilBroken(client: MqttClient, next: () => number, acknowledged: Set<number>): Promise<void> {
  let broken = false;
  client.on('error', () => {});
  const closed = new Promise<void>((resolve) => {
    client.once('close', () => {
      broken = true;
      resolve();
    });
  });
  const lane = async (): Promise<void> => {
    while (!broken) {
      const n = next();
      const sent = client.publishAsync(topicOf(n), textOf(n), { qos: 1 }).then(() => acknowledged.add(n));
      await Promise.race([sent, closed]);
    }
  };
  await Promise.all(Array.from({ length: 20 }, lane));
  await client.endAsync(true).catch(() => {});
}

async function expectKept(acknowledged: ReadonlySet<number>, sent: number): Promise<void> {
  const store = await openSqliteStore(home.path);
  const kept = (await everyReading(store, home.dwellingId)).map(([, , time]) => time - start);
  const seen = new Set(kept);
  expect([...acknowledged].filter((n) => !seen.has(n))).toEqual([]);
  expect(kept.length).toBe(seen.size);
  expect(kept.length).toBeLessThanOrEqual(sent);
  expect(await store.conflicts(home.dwellingId, 10)).toEqual([]);
  expect(await store.countQuarantined()).toBe(0);
  await store.close();
}

describe('killed at a random moment, again and again', () => {
  it('the program with its embedded broker has on disk, once, every reading it acknowledged', async () => {
    await home.store.close();
    const acknowledged = new Set<number>();
    let counter = 0;
    for (let round = 0; round < rounds; round++) {
      const child = await startChild('serve-child.ts', home.path, 'embedded');
      const clients = await Promise.all(Array.from({ length: devices }, () => connectTo(Number(child.said))));
      const before = acknowledged.size;
      const publishing = Promise.all(
        clients.map((client) => publishUntilBroken(client, () => counter++, acknowledged)),
      );
      while (acknowledged.size === before) await new Promise((resolve) => setTimeout(resolve, 1));
      await new Promise((resolve) => setTimeout(resolve, Math.random() * 300));
      await child.kill();
      await publishing;
    }
    expect(acknowledged.size).toBeGreaterThan(rounds * devices);
    await expectKept(acknowledged, counter);
  });
});
