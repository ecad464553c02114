import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { givenHome, startServer, type TestServer } from '../api/server.ts';
import { everyReading } from '../ingest/home.ts';

const DAY = 86_400_000;
const HOUR = DAY / 24;
const NOON = Date.UTC(2026, 0, 14, 12);

let now = NOON;
let server: TestServer;

/** A home whose computer's clock says `start`. */
function givenClockAt(start: number): void {
  beforeAll(async () => {
    now = start;
    server = await startServer(() => now);
    await givenHome(server);
  }, 60_000);
  afterAll(() => server.close());
}

const send = (json: unknown, sensor = 'loft') =>
  server.operate('sendReadings', `/dwellings/mill-cottage/readings/${sensor}`, { json });

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
  givenClockAt(NOON);
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

describe('the clock of the computer stands three hours back when it starts, and is put right later', () => {
  const MINUTE = HOUR / 60;
  const START = NOON - 3 * HOUR;
  givenClockAt(START);

  const readings = async (sensor: string): Promise<[time: number, value: number][]> =>
    (await everyReading(server.coomb.store, 1))
      .filter(([key]) => key === sensor)
      .map(([, , time, value]) => [time, value] as [number, number])
      .sort(([a], [b]) => a - b);

  it('readings of devices whose clocks are right are set aside, and none are read in while it is wrong', async () => {
    // live, and kept back by the device while it had no network
    expect((await send({ time: NOON, temperature_c: 1 })).status).toBe(422);
    const buffered = [
      { time: NOON - 200 * MINUTE, temperature_c: 2 },
      { time: NOON - 30 * MINUTE, temperature_c: 3 },
    ];
    await send(buffered);
    // one good reading, and one that is out of range whatever the clock says
    await send([
      { time: NOON - MINUTE, temperature_c: 4 },
      { time: NOON - MINUTE, humidity_pct: 400 },
    ]);
    // without a time of its own: dated as the clock stood
    expect((await send({ temperature_c: 5 }, 'untimed')).status).toBe(200);
    // a device that sends local time as UTC, an hour ahead
    expect((await send({ time: NOON + HOUR, temperature_c: 6 }, 'local')).status).toBe(422);
    await send({ time: NOON + HOUR - 2 * MINUTE, temperature_c: 7 }, 'local');
    expect(await server.coomb.store.countQuarantined()).toBe(5);
    now = START + 5 * MINUTE;
    await server.coomb.clockSeen();
    expect(await readings('loft')).toEqual([[NOON - 200 * MINUTE, 2]]);
  });

  it('once it is right they are read in by their own times, once, and one from a wrong clock is not', async () => {
    now = NOON + 5 * MINUTE;
    // a device goes on sending while nobody has seen yet that the clock was set
    await send({ time: NOON + 5 * MINUTE, temperature_c: 8 });
    await server.coomb.clockSeen();
    const wanted = [
      [NOON - 200 * MINUTE, 2],
      [NOON - 30 * MINUTE, 3],
      [NOON - MINUTE, 4],
      [NOON, 1],
      [NOON + 5 * MINUTE, 8],
    ];
    expect(await readings('loft')).toEqual(wanted);
    expect(await readings('untimed')).toEqual([[START, 5]]);
    expect(await readings('local')).toEqual([]);
    const { body } = await server.operate('listQuarantine', '/quarantine');
    expect(body.groups.map(({ topic, code, count }: Record<string, unknown>) => [topic, code, count])).toEqual([
      ['coomb/mill-cottage/loft', 'out-of-range', 1],
      ['coomb/mill-cottage/local', 'clock-ahead', 2],
    ]);
    await server.coomb.clockSeen();
    expect(await readings('loft')).toEqual(wanted);
    expect(await server.coomb.store.conflicts(1, 10)).toEqual([]);
  });

  it('it goes back again and is put right again, and a device that is an hour ahead stays out all the while', async () => {
    now = NOON - 40 * MINUTE;
    await server.coomb.clockSeen();
    expect((await send({ time: NOON + 10 * MINUTE, temperature_c: 9 })).status).toBe(422);
    now = NOON + 11 * MINUTE;
    await server.coomb.clockSeen();
    expect((await readings('loft')).at(-1)).toEqual([NOON + 10 * MINUTE, 9]);
    // a day passes on a clock that is right: the hour ahead is in the past now, and still wrong
    await send({ time: now + HOUR, temperature_c: 10 }, 'local');
    now += 1000;
    await server.coomb.clockSeen();
    expect(await readings('local')).toEqual([]);
  });

  it('the chain of seals is unbroken', async () => {
    now = NOON + 2 * DAY;
    await server.restart();
    await sealedTo(Math.floor(NOON / DAY) + 1);
    expect(await server.coomb.store.checkSeals(1)).toEqual([]);
  });
});

describe('the clock of the computer was never set and says 1970 until the network is there', () => {
  givenClockAt(60_000);

  it('what came meanwhile is read in once it is set, also what has no time of its own', async () => {
    expect((await send({ time: NOON, temperature_c: 1 })).status).toBe(422);
    expect((await send({ humidity_pct: 55 })).status).toBe(422);
    now = NOON + 60_000;
    await server.coomb.clockSeen();
    expect(
      (await everyReading(server.coomb.store, 1)).map(([, quantity, time, value]) => [quantity, time, value]),
    ).toEqual(
      expect.arrayContaining([
        ['temperature', NOON, 1],
        // to within the time that the test took, which the clock of the test does not know of
        ['humidity', expect.closeTo(NOON + 60_000, -5), 55],
      ]),
    );
    expect(await server.coomb.store.countQuarantined()).toBe(0);
  });
});

describe('the clock of the computer stands three hours back, and is put right while the program is off', () => {
  givenClockAt(NOON - 3 * HOUR);

  it('what was set aside is read in at the next start, also what came before a start in between', async () => {
    expect((await send({ time: NOON, temperature_c: 1 })).status).toBe(422);
    // the program starts anew, and the clock is as wrong as it was
    await server.restart();
    await server.coomb.clockSeen();
    expect((await send({ time: NOON + 1000, temperature_c: 2 })).status).toBe(422);
    expect((await send({ time: NOON + HOUR, temperature_c: 3 }, 'local')).status).toBe(422);
    now = NOON + 60_000;
    await server.restart();
    await server.coomb.clockSeen();
    expect((await kept()).temperatures.sort()).toEqual([1, 2]);
    expect(await server.coomb.store.countQuarantined()).toBe(1);
  }, 60_000);
});
