import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { AppendOutcome, Batch, IncomingReading, Store } from '../../../server/store/port.ts';
import { openPostgresStore } from '../../../server/store/postgres.ts';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { DAY, dwellingCalled, HOUR, MINUTE, NEW_YEAR } from '../contract/given.ts';
import type { TestDatabase } from '../contract/under-test.ts';
import { programs, startServer, type TestServer, whyNot } from '../postgres-server.ts';

const WORKERS = 4;
const HOMES = 2;

/** One reading as a sensor may send it: few instants and few values, so that repeats and conflicts are common. */
const reading: fc.Arbitrary<IncomingReading> = fc.record({
  dwellingId: fc.integer({ min: 1, max: HOMES }),
  sensorKey: fc.constantFrom('attic', 'lounge'),
  quantity: fc.constantFrom('temperature', 'humidity'),
  // now, late by a month (another partition), and ahead over midnight
  time: fc
    .tuple(fc.constantFrom(0, -31 * DAY, 14 * HOUR), fc.integer({ min: 0, max: 12 }))
    .map(([shift, k]) => NEW_YEAR + 12 * HOUR + shift + k * 20 * MINUTE),
  value: fc.constantFrom(20, 20.5, -0, 0, 21.123456789),
});

const batch: fc.Arbitrary<Batch> = fc.record({
  receivedAt: fc.integer({ min: 0, max: 3 }).map((k) => NEW_YEAR + 12 * HOUR + k * 13 * HOUR),
  readings: fc.array(reading, { minLength: 1, maxLength: 12 }),
  quarantined: fc.constant([]),
});

/** What must not depend on who wrote which batch when: everything but which of two values came first. */
interface Contents {
  readonly instants: string[];
  readonly values: string[];
  readonly hours: string[];
  readonly series: string[];
}

async function contentsOf(store: Store, homes: readonly number[]): Promise<Contents> {
  const instants: string[] = [];
  const values: string[] = [];
  const hours: string[] = [];
  const names: string[] = [];
  for (const [home, id] of homes.entries()) {
    const sensors = new Map((await store.sensors(id)).map((sensor) => [sensor.id, sensor.key]));
    const series = new Map(
      (await store.series(id)).map((each) => [each.id, `${home} ${sensors.get(each.sensorId)} ${each.quantity}`]),
    );
    names.push(...series.values());
    for (const column of await store.seriesColumns(id, 0, Number.POSITIVE_INFINITY)) {
      const name = series.get(column.seriesId);
      column.times.forEach((time, k) => {
        instants.push(`${name} ${time}`);
        values.push(`${name} ${time} ${column.values[k]}`);
      });
    }
    for (const { seriesId, time, otherValue } of await store.conflicts(id, 10_000)) {
      values.push(`${series.get(seriesId)} ${time} ${otherValue}`);
    }
    for (const { hour } of await store.staleHours(id, 0, 10_000)) hours.push(`${home} ${hour}`);
  }
  // an instant has every value that was sent for it, as the reading or as a conflict; which is which is who came first
  return { instants: instants.sort(), values: [...new Set(values)].sort(), hours: hours.sort(), series: names.sort() };
}

/** Everything of a home that does not say its number. */
async function everythingOf(store: Store, id: number) {
  const series = await store.series(id);
  const journal = await store.journal(id);
  return {
    columns: await store.seriesColumns(id, 0, Number.POSITIVE_INFINITY),
    conflicts: await store.conflicts(id, 10_000),
    stale: (await store.staleHours(id, 0, 10_000)).map(({ hour }) => hour),
    last: await store.lastReadings(id),
    arrivals: await Promise.all(series.map((each) => store.arrivals(id, each.id))),
    sensors: (await store.sensors(id)).map(({ key, name, model }) => [key, name, model]),
    // the dwelling itself has another number in each store
    journal: journal.map(({ id: number, subject, subjectId }) => [
      number,
      subject,
      subject === 'dwelling' || subjectId,
    ]),
  };
}

const addHomes = async (store: Store, run: number): Promise<number[]> => {
  const ids: number[] = [];
  for (let k = 1; k <= HOMES; k++) ids.push((await store.addDwelling(dwellingCalled(`home-${run}-${k}`))).id);
  return ids;
};

/** The batch for the homes of one run. */
const forHomes = (given: Batch, homes: readonly number[]): Batch => ({
  ...given,
  readings: given.readings.map((each) => ({ ...each, dwellingId: homes[each.dwellingId - 1]! })),
});

/** What writes batches: a store in this process, or a process of its own. */
type Writer = Pick<Store, 'append'>;

interface WritingProcess extends Writer {
  close(): Promise<void>;
}

async function startWriter(url: string): Promise<WritingProcess> {
  const script = fileURLToPath(new URL('./append-child.ts', import.meta.url));
  const child = spawn(process.execPath, ['--import', 'tsx', script, url], { stdio: ['pipe', 'pipe', 'inherit'] });
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const answer = async (): Promise<string> => {
    const { value, done } = await lines.next();
    if (done) throw new Error('a process that writes has ended');
    return value as string;
  };
  await answer();
  return {
    async append(given) {
      child.stdin.write(`${JSON.stringify(given)}\n`);
      return JSON.parse(await answer()) as AppendOutcome;
    },
    async close() {
      const ended = new Promise((resolve) => child.once('exit', resolve));
      child.stdin.end();
      await ended;
    },
  };
}

describe.skipIf(programs === null)(
  `several processes writing one database${programs === null ? ` (${whyNot})` : ''}`,
  () => {
    let server: TestServer;
    let database: TestDatabase & { readonly url: string };
    let stores: Store[];
    let alone: Store;
    let runs = 0;
    beforeAll(async () => {
      server = await startServer();
      database = await server.database();
      const { url } = database;
      stores = await Promise.all(Array.from({ length: WORKERS }, () => openPostgresStore({ url, connections: 2 })));
      alone = await openSqliteStore(':memory:');
    });
    afterAll(async () => {
      await Promise.all([...(stores ?? []), alone].map((store) => store?.close()));
      await server?.stop();
    });

    async function givenHomes(): Promise<{ ours: number[]; theirs: number[] }> {
      runs++;
      return { ours: await addHomes(stores[0]!, runs), theirs: await addHomes(alone, runs) };
    }

    /** All of the batches written by whoever is free next, beside one store that writes them in order. */
    async function expectAsOne(batches: readonly Batch[], writers: readonly Writer[]): Promise<void> {
      const { ours, theirs } = await givenHomes();
      let next = 0;
      let stored = 0;
      let told = 0;
      const work = async (writer: Writer): Promise<void> => {
        for (let k = next++; k < batches.length; k = next++) {
          const outcome = await writer.append(forHomes(batches[k]!, ours));
          stored += outcome.stored;
          told += outcome.stored + outcome.repeated + outcome.conflicting;
        }
      };
      await Promise.all(writers.map(work));
      for (const each of batches) await alone.append(forHomes(each, theirs));

      const together = await contentsOf(stores[0]!, ours);
      expect(together).toEqual(await contentsOf(alone, theirs));
      // no reading was counted twice or not at all
      expect(stored).toBe(together.instants.length);
      expect(told).toBe(batches.reduce((sum, { readings }) => sum + readings.length, 0));
      for (const id of ours) {
        while ((await stores[id % WORKERS]!.sealNextDay(id, Math.floor(NEW_YEAR / DAY) + 3, NEW_YEAR)) !== null);
        expect(await stores[0]!.checkSeals(id)).toEqual([]);
      }
    }

    test('end with the readings, conflicts and stale hours of one that writes the same in some order, four stores in one process', async () => {
      await fc.assert(
        fc.asyncProperty(fc.array(batch, { minLength: 4, maxLength: 24 }), (batches) => expectAsOne(batches, stores)),
        { numRuns: 40 },
      );
    }, 180_000);

    test('end with the same where four processes of the system write', async () => {
      const { url } = database;
      const writers = await Promise.all(Array.from({ length: WORKERS }, () => startWriter(url)));
      try {
        await fc.assert(
          fc.asyncProperty(fc.array(batch, { minLength: 24, maxLength: 60 }), (batches) =>
            expectAsOne(batches, writers),
          ),
          { numRuns: 8 },
        );
      } finally {
        await Promise.all(writers.map((writer) => writer.close()));
      }
    }, 180_000);

    test('end with exactly the database of one process where the batches come one after the other', async () => {
      await fc.assert(
        fc.asyncProperty(
          fc.array(fc.tuple(batch, fc.nat({ max: WORKERS - 1 })), { minLength: 2, maxLength: 16 }),
          async (turns) => {
            const { ours, theirs } = await givenHomes();
            for (const [each, worker] of turns) {
              const outcome = await stores[worker]!.append(forHomes(each, ours));
              expect(outcome).toEqual(await alone.append(forHomes(each, theirs)));
            }
            for (const [k, id] of ours.entries()) {
              expect(await everythingOf(stores[id % WORKERS]!, id)).toEqual(await everythingOf(alone, theirs[k]!));
            }
          },
        ),
        { numRuns: 40 },
      );
    }, 180_000);
  },
);
