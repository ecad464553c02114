import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { HOUR_MS, type PlaceKind } from '../../server/analysis/vocabulary.ts';
import { readAssessment } from '../../server/store/assessment-reader.ts';
import type { IncomingReading, Place, Store } from '../../server/store/port.ts';
import { openPostgresStore } from '../../server/store/postgres.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { dwellingCalled, fullRecord } from '../store/contract/given.ts';
import { programs, startServer, type TestServer, whyNot } from '../store/postgres-server.ts';
import type { BenchRow } from './row.ts';

const START = Date.UTC(2025, 10, 1);
const HOMES = 100;
const SENSORS = 6;
/** as many as the writer puts into a commit */
const ROWS_A_COMMIT = 5_000;
const COMMITS = 60;
const RUNS = 3;

const seconds = async (work: () => unknown): Promise<number> => {
  const from = performance.now();
  await work();
  return (performance.now() - from) / 1000;
};

/** Homes that report temperature and humidity every five minutes, as readings arrive. */
function* readings(): Generator<IncomingReading> {
  for (let step = 0; ; step++) {
    for (let home = 1; home <= HOMES; home++) {
      for (let k = 0; k < SENSORS; k++) {
        const reading = { dwellingId: home, sensorKey: `sensor-${k}`, time: START + step * 300_000 + home * 97 + k };
        const wave = Math.sin(step / 140 + k);
        yield { ...reading, quantity: 'temperature', value: Math.round((12 + 5 * wave) * 100) / 100 };
        yield { ...reading, quantity: 'humidity', value: Math.round((65 - 12 * wave) * 10) / 10 };
      }
    }
  }
}

function commits(): IncomingReading[][] {
  const source = readings();
  return Array.from({ length: COMMITS }, () =>
    Array.from({ length: ROWS_A_COMMIT }, () => source.next().value as IncomingReading),
  );
}

const seriesOf = ({ sensorKey, quantity }: IncomingReading): number =>
  Number(sensorKey.slice(7)) * 2 + (quantity === 'humidity' ? 2 : 1);

/** Commits through the store against COPY of the same rows, as many a commit, into a bare table of the same key. */
async function benchCopy(server: TestServer, folder: string): Promise<BenchRow[]> {
  const all = commits();
  const files = all.map((rows, k) => {
    const file = join(folder, `rows-${k}.txt`);
    const lines = rows.map((row) => `${row.dwellingId}\t${seriesOf(row)}\t${row.time}\t${row.value}\n`);
    writeFileSync(file, lines.join(''));
    return file;
  });
  let measured = 0;
  let limit = 0;
  for (let run = 0; run < RUNS; run++) {
    const database = await server.database();
    const store = await database.open();
    for (let k = 1; k <= HOMES; k++) await store.addDwelling(dwellingCalled(`home-${k}`));
    const bare = await server.database();
    const copy = (own: readonly string[]) =>
      execFileSync(join(programs!, 'psql'), ['-q', '-d', bare.url, '-f', '-'], {
        input: own.map((file) => `\\copy bare from '${file}'\n`).join(''),
      });
    execFileSync(join(programs!, 'psql'), ['-q', '-d', bare.url, '-c', BARE]);
    // sensors, series and partitions are made by the first
    await store.append({ receivedAt: START, readings: all[0]!, quarantined: [] });
    copy(files.slice(0, 1));
    const rows = (COMMITS - 1) * ROWS_A_COMMIT;
    const ours = await seconds(async () => {
      for (const each of all.slice(1)) await store.append({ receivedAt: START, readings: each, quarantined: [] });
    });
    const theirs = await seconds(() => copy(files.slice(1)));
    const kept = await server.query<{ count: string }>('SELECT count(*) FROM reading', nameOf(database.url));
    if (Number(kept[0]!.count) !== COMMITS * ROWS_A_COMMIT) throw new Error(`${kept[0]!.count} readings were kept`);
    measured = Math.max(measured, rows / ours);
    limit = Math.max(limit, rows / theirs);
    await store.close();
    await database.remove();
    await bare.remove();
  }
  return [
    {
      name: `readings of ${HOMES} homes kept in commits of ${ROWS_A_COMMIT}, against COPY of the same in the same commits`,
      measured,
      limit,
      unit: 'rows/s',
      ratio: measured / limit,
      aim: 0.5,
      direction: 'at least',
      note: 'one store, one connection at work at a time',
    },
  ];
}

const BARE = `CREATE TABLE bare (dwelling_id integer NOT NULL, series_id integer NOT NULL, time bigint NOT NULL,
  value double precision NOT NULL, PRIMARY KEY (dwelling_id, series_id, time))`;

const nameOf = (url: string): string => url.match(/\/(test_\d+)/)![1]!;

const kinds: readonly PlaceKind[] = ['ceiling-surface', 'room-air', 'outdoor-air', 'loft-air', 'control-surface'];
const HOURS = 2 * 365 * 24;

/** Two years of hour records of five places. */
async function fillHours(store: Store): Promise<{ dwellingId: number; surface: Place }> {
  const { id: dwellingId } = await store.addDwelling(dwellingCalled('two-winters'));
  const places: Place[] = [];
  for (const kind of kinds) places.push(await store.addPlace({ dwellingId, name: kind, kind, facesPlaceId: null }));
  const first = START - HOURS * HOUR_MS;
  await store.addPhase({ dwellingId, kind: 'before', name: 'before', from: first, to: first + (HOURS / 2) * HOUR_MS });
  await store.addPhase({ dwellingId, kind: 'after', name: 'after', from: first + (HOURS / 2) * HOUR_MS, to: START });
  for (let k = 0; k < HOURS; k += 720) {
    const hours = Array.from({ length: Math.min(720, HOURS - k) }, (_, j) => first + (k + j) * HOUR_MS);
    await store.replaceHours(
      dwellingId,
      hours.map((hour) => ({ dwellingId, hour, mark: 0 })),
      hours.flatMap((hour) =>
        places.map((place) => ({
          ...fullRecord(place.id, hour),
          temperatureMean: 12 + Math.sin(hour / 5e6 + place.id),
          temperatureMin: 11 + Math.sin(hour / 5e6 + place.id),
        })),
      ),
    );
  }
  return { dwellingId, surface: places[0]! };
}

/** Everything a comparison before and after needs, read from either engine. */
async function benchComparison(server: TestServer, folder: string): Promise<BenchRow[]> {
  const database = await server.database();
  const stores = [
    await openPostgresStore({ url: database.url }),
    await openSqliteStore(join(folder, 'hours.sqlite')),
  ] as const;
  const least = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const found: string[] = [];
  const filled = [await fillHours(stores[0]), await fillHours(stores[1])] as const;
  for (let run = 0; run < 3 * RUNS; run++) {
    for (const [k, store] of stores.entries()) {
      const { dwellingId, surface } = filled[k]!;
      const took = await seconds(async () => {
        const dwelling = (await store.dwellings()).find(({ id }) => id === dwellingId)!;
        const [before = null, after = null] = await store.phases(dwellingId);
        const choice = { surface, before, after, target: { factor: 0.7 }, now: START };
        const input = await readAssessment(store, dwelling, choice as never);
        found[k] = JSON.stringify([input?.surface.hours.margin.length, input?.surface.hours.margin[1234]]);
      });
      least[k] = Math.min(least[k]!, took * 1000);
    }
  }
  if (found[0] !== found[1]) throw new Error(`the engines differ: ${found.join(' and ')}`);
  for (const store of stores) await store.close();
  await database.remove();
  return [
    {
      name: 'two years of one home read for a comparison before and after, against SQLite',
      measured: least[0]!,
      limit: least[1]!,
      unit: 'ms',
      ratio: least[0]! / least[1]!,
      aim: 2,
      direction: 'at most',
    },
  ];
}

/** PostgreSQL against its own COPY, and against SQLite where one home is read. */
export async function benchPostgres(): Promise<BenchRow[]> {
  if (programs === null) {
    console.log(`  ${whyNot}`);
    return [];
  }
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-pg-'));
  const server = await startServer();
  try {
    return [...(await benchCopy(server, folder)), ...(await benchComparison(server, folder))];
  } finally {
    await server.stop();
    rmSync(folder, { recursive: true });
  }
}
