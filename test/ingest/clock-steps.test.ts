import { writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { clockMemoryAt } from '../../server/ingest/clock-memory.ts';
import { watchClockSteps } from '../../server/ingest/clock-steps.ts';
import { withOutdoorForecasts } from '../../server/ingest/forecast-receiver.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createRereader } from '../../server/ingest/reread.ts';
import { createWriter } from '../../server/ingest/writer.ts';
import { everyReading, type Home, openHome } from './home.ts';

const HOUR = 3_600_000;
const NOON = Date.UTC(2026, 0, 14, 12);

/** What the time is, what the computer's clock lacks to say it, and when the computer was started. */
let world: { time: number; behind: number; bootedAt: number; boot: string };
let home: Home;
beforeEach(async () => {
  world = { time: NOON, behind: 0, bootedAt: NOON - HOUR, boot: 'first' };
  home = await openHome();
});
afterEach(() => home.close());

const clock = (): number => world.time - world.behind;
const recordFile = (): string => join(dirname(home.path), 'clock-stretches.json');

/** The parts of a program that runs: on from a start, with a look at the clock, until it is closed. */
async function run(work: (send: (sensor: string, time: number) => Promise<string>) => Promise<void>): Promise<void> {
  const writer = createWriter(home.store);
  const readings = createReceiver(home.store, writer, clock);
  const receiver = withOutdoorForecasts(readings, home.store, writer, clock, () => undefined);
  const rereader = createRereader(home.store, receiver, writer, clock);
  const memory = { ...clockMemoryAt(recordFile()), boot: world.boot };
  const uptime = (): number => world.time - world.bootedAt;
  const look = await watchClockSteps(home.store, rereader, clock, uptime, memory, () => undefined);
  await look();
  await work(async (sensor, time) => {
    const payload = Buffer.from(JSON.stringify({ time, temperature_c: 3 }));
    return (await receiver.receive('http', `coomb/gable-cottage/${sensor}`, payload)).kind;
  });
  await look();
  await rereader.close();
  await writer.close();
}

const nothing = async (): Promise<void> => undefined;
const sensorsReadIn = async (): Promise<string[]> =>
  (await everyReading(home.store, home.dwellingId)).map(([key]) => key);

/** The clock stands three hours back; one device is right, another an hour ahead. */
async function heardWhileBack(): Promise<void> {
  world.behind = 3 * HOUR;
  await run(async (send) => {
    expect(await send('right', world.time)).toBe('quarantined');
    expect(await send('an-hour-ahead', world.time + HOUR)).toBe('quarantined');
  });
}

describe('a clock that was set right while the program was off', () => {
  it('is seen at the next start of the same boot; a device that was ahead stays out, even when that time has passed', async () => {
    await heardWhileBack();
    expect(await sensorsReadIn()).toEqual([]);
    world.time += 2 * HOUR;
    world.behind = 0;
    await run(nothing);
    expect(await sensorsReadIn()).toEqual(['right']);
    world.time += 24 * HOUR;
    await run(nothing);
    expect(await sensorsReadIn()).toEqual(['right']);
  });

  it('is seen after a start at which it was still wrong', async () => {
    await heardWhileBack();
    world.time += HOUR;
    await run(nothing);
    world.behind = 0;
    await run(nothing);
    expect(await sensorsReadIn()).toEqual(['right']);
  });

  it('says nothing of a device that sent after the clock was right, and is ahead by as much as the clock was set', async () => {
    await heardWhileBack();
    world.behind = 0;
    await run(async (send) => {
      expect(await send('ahead', world.time + 3 * HOUR)).toBe('quarantined');
    });
    world.time += 5 * HOUR;
    await run(nothing);
    expect(await sensorsReadIn()).toEqual(['right']);
  });

  it.each<[what: string, change: () => void]>([
    [
      'the computer was started anew',
      () => {
        world.boot = 'second';
        world.bootedAt = world.time;
      },
    ],
    [
      'the computer seems to run for less than before',
      () => {
        world.bootedAt = world.time;
      },
    ],
    ['the record was torn', () => writeFileSync(recordFile(), '{"boot":"first"')],
    [
      'the record is of another quarantine',
      () => {
        const past = { offset: clock() - HOUR, afterId: 9, untilId: 12, triedWith: 0 };
        const record = { boot: 'first', uptime: 0, current: { offset: NOON - 9 * HOUR, afterId: 12 }, past: [past] };
        writeFileSync(recordFile(), JSON.stringify(record));
      },
    ],
  ])('is not believed when %s: nothing tells by how much it stood back', async (_, change) => {
    await heardWhileBack();
    world.time += HOUR;
    world.behind = 0;
    change();
    await run(nothing);
    expect(await sensorsReadIn()).toEqual([]);
    expect(await home.store.countQuarantined()).toBe(2);
  });
});
