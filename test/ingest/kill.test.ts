import type { MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { everyReading, type Home, openHome } from './home.ts';
import { connectTo, mosquittoIsHere, startChild, startMosquitto } from './processes.ts';

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
async function publishUntilBroken(
  client: MqttClient,
  next: () => number,
  acknowledged: Set<number>,
  pauseMs = 0,
): Promise<void> {
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
      if (pauseMs > 0) await new Promise((resolve) => setTimeout(resolve, pauseMs));
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
  }, 180_000);

  it.skipIf(!mosquittoIsHere)(
    'the program behind Mosquitto has on disk, once, every reading Mosquitto took for it',
    async () => {
      await home.store.close();
      const mosquitto = await startMosquitto('allow_anonymous true', 'max_queued_messages 0');
      const url = `mqtt://127.0.0.1:${mosquitto.port}`;
      const acknowledged = new Set<number>();
      let counter = 0;
      const clients = await Promise.all(Array.from({ length: devices }, () => connectTo(mosquitto.port)));
      const first = await startChild('serve-child.ts', home.path, url);
      // slow enough for the program to keep up between its deaths
      const publishing = Promise.all(
        clients.map((client) => publishUntilBroken(client, () => counter++, acknowledged, 200)),
      );
      await first.kill();
      for (let round = 1; round < rounds; round++) {
        const child = await startChild('serve-child.ts', home.path, url);
        await new Promise((resolve) => setTimeout(resolve, Math.random() * 300));
        await child.kill();
      }
      for (const client of clients) client.stream.destroy();
      await publishing;
      const last = await startChild('serve-child.ts', home.path, url);
      const store = await openSqliteStore(home.path);
      // not as many: some that were never acknowledged are there too
      const areThere = async (): Promise<boolean> => {
        const kept = new Set((await everyReading(store, home.dwellingId)).map(([, , time]) => time - start));
        return [...acknowledged].every((n) => kept.has(n));
      };
      while (!(await areThere())) await new Promise((resolve) => setTimeout(resolve, 50));
      await store.close();
      await last.kill();
      await mosquitto.stop();
      expect(acknowledged.size).toBeGreaterThan(rounds * devices);
      await expectKept(acknowledged, counter);
    },
    180_000,
  );
});
