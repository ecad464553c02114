import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { givenHome, startServer, type TestServer } from '../api/server.ts';
import { everyReading } from '../ingest/home.ts';

const DAY = 86_400_000;
const HOUR = DAY / 24;
const NOON = Date.UTC(2026, 0, 14, 12);

let now = NOON;
let server: TestServer;
beforeAll(async () => {
  server = await startServer(() => now);
  await givenHome(server);
}, 60_000);
afterAll(() => server.close());

const send = (json: unknown) => server.operate('sendReadings', '/dwellings/mill-cottage/readings/loft', { json });

/** Readings by their own time, as a device with a right clock sends them, and one that leaves its time to this computer. */
async function sendBoth(time: number, value: number): Promise<void> {
  expect((await send({ time, temperature_c: value })).status).toBe(200);
  expect((await send({ humidity_pct: 40 + value })).status).toBe(200);
}

/** The last day that is over when the clock stands ten days ahead. */
const AHEAD = Math.floor(NOON / DAY) + 9;

/** Days are sealed in the background of a start. */
const sealedTo = (day: number): Promise<void> =>
  vi.waitFor(async () => expect((await server.coomb.store.sealing(1))!.lastDay).toBe(day), 20_000);

async function kept(): Promise<{ temperatures: number[]; humidities: [time: number, value: number][] }> {
  const rows = await everyReading(server.coomb.store, 1);
  return {
    temperatures: rows.filter(([, quantity]) => quantity === 'temperature').map(([, , , value]) => value),
    humidities: rows.filter(([, quantity]) => quantity === 'humidity').map(([, , time, value]) => [time, value]),
  };
}

describe('the clock of the computer steps ten days forward, back, an hour further back, and forward again', () => {
  const arrivedAt: number[] = [];
  const came = (at: number): void => {
    now = at;
    arrivedAt.push(at);
  };

  it('no reading is lost, each is dated as the clock stood, and no day is sealed twice', async () => {
    came(NOON);
    await sendBoth(NOON, 1);
    came(NOON + 10 * DAY);
    await sendBoth(NOON + HOUR, 2);
    // days that pass are sealed at a start too
    await server.restart();
    await sealedTo(AHEAD);
    came(NOON + 2 * HOUR);
    await sendBoth(NOON + 2 * HOUR, 3);
    came(NOON + HOUR);
    await sendBoth(NOON + HOUR + 1, 4);
    await server.restart();
    // two readings without a time at the very same instant: neither is lost
    await send({ humidity_pct: 77 });
    expect(await server.coomb.store.conflicts(1, 10)).toMatchObject([{ keptValue: 44, otherValue: 77 }]);
    came(NOON + 11 * DAY);
    await sendBoth(NOON + 11 * DAY, 5);
    now += 2 * DAY;
    await server.restart();
    await sealedTo(AHEAD + 3);

    const { temperatures, humidities } = await kept();
    expect(temperatures.sort()).toEqual([1, 2, 3, 4, 5]);
    expect(humidities).toEqual(arrivedAt.map((at, k) => [at, 41 + k]).sort(([a], [b]) => a! - b!));
    expect(await server.coomb.store.countQuarantined()).toBe(0);
  }, 120_000);

  it('the chain of seals is unbroken, and a reading counts to the day that was open when it came', async () => {
    const { store } = server.coomb;
    expect(await store.checkSeals(1)).toEqual([]);
    const { firstDay, lastDay } = (await store.sealing(1))!;
    const seals = await store.daySeals(1, 0, 1e6);
    expect(seals.map(({ day }) => day)).toEqual(
      Array.from({ length: lastDay! - firstDay! + 1 }, (_, k) => firstDay! + k),
    );
    expect(seals.reduce((sum, { readings }) => sum + readings, 0)).toBe(10);
    // what came after the clock went back is in the first day that was still open, not in a sealed one
    const later = seals.filter(({ day }) => day > AHEAD).reduce((sum, { readings }) => sum + readings, 0);
    expect(later).toBe(2 + 4 + 2);
  });

  it('a reading ahead of a clock that stands too far back is kept in quarantine with both clocks in words', async () => {
    now = NOON - 3 * HOUR;
    const { status, body } = await send({ time: NOON, temperature_c: 6 });
    expect(status).toBe(422);
    expect(JSON.stringify(body)).toMatch(/device's clock says .*this computer's .*set whichever is wrong/);
    expect(await server.coomb.store.countQuarantined()).toBe(1);
  });
});
