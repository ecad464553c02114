import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { HOUR_MS, placeKinds } from '../../server/analysis/vocabulary.ts';
import { openPostgresStore } from '../../server/store/postgres.ts';
import { mosquittoIsHere, startMosquitto } from '../ingest/processes.ts';
import { dwellingCalled } from '../store/contract/given.ts';
import { programs, startServer, type TestServer, whyNot } from '../store/postgres-server.ts';
import { cpuSeconds, cpuSecondsWithChildren } from './cpu-time.ts';
import { apartMs, type FleetLoad } from './fleet-load.ts';
import { type BenchRow, within } from './row.ts';
import { percentile, type Running, start } from './running.ts';

export interface FleetSize {
  readonly homes: number;
  readonly sensors: number;
  readonly everyMs: number;
  /** how much faster than the clock the sensors live */
  readonly compressed: number;
  /** how long is measured, s of our clock */
  readonly seconds: number;
}

/** 200 messages a second by the clock. */
const housingAssociation: FleetSize = {
  homes: 10_000,
  sensors: 6,
  everyMs: 300_000,
  compressed: 5,
  seconds: 180,
};

const DAY_MS = 24 * HOUR_MS;
const DATABASE = 'fleet';
const LOOK_MS = 1000;
/** The longest that is waited for what is left over at the end, s. */
const DRAIN_S = 150;
/** From the publication to the commit, 99 of 100, s; as for one home. */
const LAG_S = 1;

/** Who works: each has a role of its own at the server, so that its share of the server's work can be told. */
const duties = { first: 'readings', second: 'readings', worker: 'pages,upkeep' } as const;
type Name = keyof typeof duties;
const names = Object.keys(duties) as Name[];

/**
 * A housing association on this machine: Mosquitto, two processes that take readings from it as a group, one that does all
 * else, and PostgreSQL as it comes. When a reading was kept is told by PostgreSQL, which writes down the time of every
 * commit; when it was due is known from its own time, so that a load that comes late counts as lag and not as less load.
 */
export async function benchFleet(size: FleetSize = housingAssociation): Promise<BenchRow[]> {
  if (programs === null || !mosquittoIsHere) {
    console.log(`  ${programs === null ? whyNot : 'NOT RUN: no Mosquitto is installed'}`);
    return [];
  }
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-fleet-'));
  const server = await startServer('track_commit_timestamp=on');
  const broker = await startMosquitto(
    'allow_anonymous true',
    'max_queued_messages 0',
    'max_inflight_messages 1000',
    'persistence true',
    'autosave_interval 30',
  );
  const running = new Map<Name, Running>();
  try {
    await server.query(`CREATE DATABASE ${DATABASE}`);
    for (const name of names) await server.query(`CREATE ROLE ${name} LOGIN SUPERUSER`);
    await addHomes(server, size);
    for (const name of names) {
      const settings = {
        COOMB_DATABASE_URL: server.url(DATABASE).replace('coomb@', `${name}@`),
        COOMB_MQTT_URL: `mqtt://127.0.0.1:${broker.port}`,
        COOMB_MQTT_CLIENT_ID: name,
        COOMB_INGEST_GROUP: 'fleet',
        COOMB_DUTIES: duties[name],
      };
      running.set(name, await start(join(folder, name), settings));
    }
    return await measure(server, broker, running, size);
  } finally {
    await Promise.all([...running.values()].map((one) => one.stop()));
    await broker.stop();
    await server.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}

/** One home as it is added from a file and has reported once, and as many copies of its rows as make the others. */
async function addHomes(server: TestServer, { homes, sensors, everyMs }: FleetSize): Promise<void> {
  const store = await openPostgresStore({ url: server.url(DATABASE) });
  const kinds = placeKinds.slice(0, sensors);
  const { dwellingId } = await store.onboard(
    {
      dwelling: dwellingCalled('home-0'),
      area: null,
      buildType: null,
      group: null,
      places: kinds.map((kind) => ({ name: kind, kind, faces: null })),
      sensors: kinds.map((kind, k) => ({
        key: `sensor-${k}`,
        name: kind,
        model: null,
        place: kind,
        mapping: null,
        account: null,
      })),
    },
    0,
  );
  // and has reported before, so that it is known what its sensors measure and how often
  const readings = kinds.flatMap((_, k) =>
    (['temperature', 'humidity'] as const).map((quantity) => {
      return { dwellingId, sensorKey: `sensor-${k}`, quantity, time: Date.now() - DAY_MS, value: 18 };
    }),
  );
  await store.append({ receivedAt: Date.now() - DAY_MS, readings, quarantined: [] });
  for (const { id } of await store.series(dwellingId)) await store.setInterval(dwellingId, id, everyMs / 1000);
  await store.replaceHours(dwellingId, await store.staleHours(dwellingId, 0, 100), []);
  await store.close();
  const tables = await server.query<{ name: string }>(
    `SELECT relname AS name FROM pg_class JOIN pg_attribute ON attrelid = pg_class.oid
     WHERE relkind = 'r' AND NOT relispartition AND attname = 'dwelling_id' AND relnamespace = 'public'::regnamespace`,
    DATABASE,
  );
  const filled: string[] = [];
  for (const { name } of tables) {
    const [row] = await server.query<{ is: boolean }>(`SELECT exists (SELECT FROM ${name}) AS is`, DATABASE);
    if (row!.is) filled.push(name);
  }
  const copy = (table: string, key: string, changes: string): string =>
    `INSERT INTO ${table} SELECT (jsonb_populate_record(${table}, ${changes})).*
     FROM ${table}, generate_series(1, ${homes - 1}) AS other WHERE ${table}.${key} = ${dwellingId};`;
  // no trigger, for they write what is copied as well
  await server.query(
    `SET session_replication_role = replica;
     ${copy('dwelling', 'id', `jsonb_build_object('id', ${dwellingId} + other, 'slug', 'home-' || other, 'name', 'home-' || other)`)}
     ${filled.map((name) => copy(name, 'dwelling_id', `jsonb_build_object('dwelling_id', ${dwellingId} + other)`)).join('\n')}
     UPDATE last_dwelling SET id = ${dwellingId + homes - 1}; ANALYZE`,
    DATABASE,
  );
}

async function measure(
  server: TestServer,
  broker: { readonly port: number; readonly processId: () => number },
  running: ReadonlyMap<Name, Running>,
  size: FleetSize,
): Promise<BenchRow[]> {
  const { homes, sensors, everyMs, compressed, seconds } = size;
  const ask = async <Row extends object>(sql: string): Promise<Row> => (await server.query<Row>(sql, DATABASE))[0]!;
  const count = async (sql: string): Promise<number> => Number((await ask<{ n: string }>(`SELECT (${sql}) AS n`)).n);
  const apart = apartMs(size);
  const round = homes * sensors;
  const messages = Math.floor((seconds * 1000 * compressed) / apart);

  // an hour ends in the middle of what is measured, and all of it is over
  const lasting = messages * apart;
  const hour = Math.floor((Date.now() - lasting / 2) / HOUR_MS) * HOUR_MS;
  const first = hour - lasting / 2 - round * apart;
  const load = { port: broker.port, homes, sensors, everyMs, compressed, first };
  const kept = (from: number): Promise<number> =>
    count(`SELECT count(*) FROM reading WHERE time >= ${first + from * apart}`);

  // from the first message of a home on its sensors are in mind
  await publish({ ...load, from: 0, to: round, began: Date.now() + 1000 });
  await until(async () => (await kept(0)) === 2 * round, 'the first reading of every sensor');

  const before = await spentBy(server, broker, running);
  const wal = await count(`SELECT pg_current_wal_lsn() - '0/0'`);
  const rebuilds = await rebuildsOf(running.get('worker')!);
  const began = Date.now() + 1000;
  const hourEnds = began + (hour - first - round * apart) / compressed;
  const publishing = publish({ ...load, from: round, to: round + messages, began });
  let finished = false;
  const looking = lookAtHours(() => finished);
  const late = await publishing;
  await until(async () => (await kept(round)) === 2 * messages, 'every reading');
  const after = await spentBy(server, broker, running);
  const walBytes = (await count(`SELECT pg_current_wal_lsn() - '0/0'`)) - wal;
  const rebuilt = (await rebuildsOf(running.get('worker')!)) - rebuilds;
  const ended = performance.now();
  let stale = await count('SELECT count(*) FROM stale_hour');
  while (stale > 0 && performance.now() - ended < DRAIN_S * 1000) {
    await pause(LOOK_MS);
    stale = await count('SELECT count(*) FROM stale_hour');
  }
  const drained = `${stale === 0 ? 'all' : `all but ${stale}`} done ${((performance.now() - ended) / 1000).toFixed(0)} s after the last message`;
  finished = true;
  const hours = await looking;
  const scraping = performance.now();
  const exposed = await scrape(running.get('worker')!);
  const scrapeMs = performance.now() - scraping;
  const watchRound = figureIn(exposed, 'coomb_watch_round_seconds');

  /** How far the oldest hour that is over and not worked out lies behind, s of our clock, as it was seen. */
  async function lookAtHours(isOver: () => boolean): Promise<{ behind: number[]; complete: number | null }> {
    const behind: number[] = [];
    let complete: number | null = null;
    while (!isOver()) {
      const oldest = (await count('SELECT coalesce(min(hour), -1) FROM stale_hour')) * HOUR_MS;
      const now = Date.now();
      if (now >= hourEnds) {
        const isStale = oldest >= 0 && oldest < hour;
        behind.push(isStale ? (now - hourEnds) / 1000 : 0);
        if (isStale) complete = null;
        else complete ??= (now - hourEnds) / 1000;
      }
      await pause(LOOK_MS);
    }
    return { behind, complete };
  }

  await server.query('VACUUM ANALYZE', DATABASE);
  const lag = await lagsOf(server, load, round, began);
  const size1 = await sizes(server);
  const conflicts = await count('SELECT count(*) FROM conflict');
  const quarantined = await count('SELECT count(*) FROM quarantine');
  if (conflicts + quarantined > 0) throw new Error(`${conflicts} conflicts, ${quarantined} messages set aside`);

  // what was measured, of a thousand homes and a day
  const share = (1000 / homes) * (DAY_MS / lasting);
  const readings = 1000 * sensors * 2 * (DAY_MS / everyMs);
  const records = 1000 * sensors * 24;
  const spent = (who: keyof Spent): number => (after[who] - before[who]) * share;
  const ingest = spent('first') + spent('second') + spent('firstAtServer') + spent('secondAtServer');
  const rest = spent('server') - spent('firstAtServer') - spent('secondAtServer') - spent('workerAtServer');
  const megabytes = (bytes: number): string => `${(bytes / 1e6).toFixed(0)} MB`;
  const load1 = `${homes} homes of ${sensors} sensors, ${compressed} times as fast as the clock (${((1000 * compressed) / apart).toFixed(0)} messages/s)`;
  const perHour = rebuilt / homes / (lasting / HOUR_MS);

  return [
    within(
      `${load1}: PUBLISH to durable, 99th of 100`,
      lag.high / 1000,
      LAG_S,
      's',
      `half within ${lag.middle.toFixed(0)} ms, longest ${(lag.longest / 1000).toFixed(2)} s; published at most ${late} ms late`,
    ),
    within(
      'the same, growth of the lag from the first third to the last',
      (lag.last - lag.first) / 1000,
      LAG_S,
      's',
      `half within ${lag.first.toFixed(0)} ms in the first third, ${lag.last.toFixed(0)} ms in the last; slope ${lag.slope.toFixed(2)} ms a second`,
    ),
    within(
      'the same, from the end of an hour until no record of it is stale',
      hours.complete ?? Number.POSITIVE_INFINITY,
      HOUR_MS / compressed / 1000,
      's',
      `limit: when the next hour ends; 99 of 100 looks saw at most ${percentile(hours.behind, 0.99).toFixed(0)} s; ${perHour.toFixed(1)} rebuilds of a home each hour; ${drained}`,
    ),
    within(
      'a thousand homes, a day: readings',
      readings * size1.readingBytes,
      readings * 100,
      'bytes',
      `${readings} rows of ${size1.readingHeap.toFixed(0)} bytes and ${size1.readingIndex.toFixed(0)} of index; ${(readings / 1000).toFixed(0)} rows of a home`,
    ),
    within(
      'a thousand homes, a day: hour records',
      records * size1.recordBytes,
      records * 1000,
      'bytes',
      `${records} rows of ${size1.recordHeap.toFixed(0)} bytes and ${size1.recordIndex.toFixed(0)} of index, as they were left by rebuilds`,
    ),
    within(
      'a thousand homes, a day: CPU to take readings in',
      ingest,
      86_400 / 10,
      's',
      `limit: a core for ten thousand; processes ${(spent('first') + spent('second')).toFixed(0)} s, their connections ${(spent('firstAtServer') + spent('secondAtServer')).toFixed(0)} s; Mosquitto ${spent('broker').toFixed(0)} s and what else the server did ${rest.toFixed(0)} s come on top, as does ${megabytes(walBytes * share)} of log`,
    ),
    within(
      'a thousand homes, a day: CPU to keep hours and watch, as far as it was done',
      spent('worker') + spent('workerAtServer'),
      86_400 / 10,
      's',
      `process ${spent('worker').toFixed(0)} s, its connections ${spent('workerAtServer').toFixed(0)} s; ${watchRound === null ? 'no look at every home was done by then' : `a look at every home took ${watchRound.toFixed(0)} s`}; comparisons of before and after come on top, for these homes have none`,
    ),
    within(
      `a process for ${homes} homes, from the command to ready`,
      Math.max(...names.map((name) => running.get(name)!.seconds)),
      5,
      's',
      'the slowest of three',
    ),
    within(
      `/metrics of ${homes} homes`,
      scrapeMs / 1000,
      1,
      's',
      `${exposed.split('\n').length} lines, none of them of one home`,
    ),
  ];
}

/** Runs the load in a process of its own; resolves with by how much it was late at the worst, ms. */
async function publish(load: FleetLoad): Promise<number> {
  const script = fileURLToPath(new URL('./publish-fleet.ts', import.meta.url));
  const child = spawn(process.execPath, ['--import', 'tsx', script, JSON.stringify(load)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let said = '';
  for await (const chunk of child.stdout) said += String(chunk);
  const done = /done (\d+)/.exec(said);
  if (done === null) throw new Error(`the load ended early: ${said}`);
  return Number(done[1]);
}

async function until(isDone: () => Promise<boolean>, what: string): Promise<void> {
  const end = performance.now() + DRAIN_S * 1000;
  while (!(await isDone())) {
    if (performance.now() > end) throw new Error(`${DRAIN_S} s after the last message ${what} was not there`);
    await pause(LOOK_MS / 2);
  }
}

/** User and system time, s. */
type Spent = Record<Name | `${Name}AtServer` | 'broker' | 'server', number>;

async function spentBy(
  server: TestServer,
  broker: { readonly processId: () => number },
  running: ReadonlyMap<Name, Running>,
): Promise<Spent> {
  const backends = await server.query<{ pid: number; name: string }>(
    'SELECT pid, usename AS name FROM pg_stat_activity WHERE usename IS NOT NULL',
    DATABASE,
  );
  const atServer = (name: Name): number =>
    backends.filter((one) => one.name === name).reduce((total, { pid }) => total + cpuSeconds(pid), 0);
  const own = (name: Name): number => cpuSecondsWithChildren(running.get(name)!.processId);
  return {
    first: own('first'),
    second: own('second'),
    worker: own('worker'),
    firstAtServer: atServer('first'),
    secondAtServer: atServer('second'),
    workerAtServer: atServer('worker'),
    broker: cpuSeconds(broker.processId()),
    server: cpuSecondsWithChildren(server.processId()),
  };
}

const scrape = async ({ address }: Running): Promise<string> => (await fetch(`${address}/metrics`)).text();

/** A figure of an exposition; null: it has none of that name. */
function figureIn(text: string, name: string): number | null {
  const line = text.split('\n').find((each) => each.startsWith(`${name} `));
  return line === undefined ? null : Number(line.slice(name.length + 1));
}

const rebuildsOf = async (process: Running): Promise<number> =>
  figureIn(await scrape(process), 'coomb_hour_rebuilds_total')!;

/**
 * From when a message was due to the commit of its readings, ms. PostgreSQL takes the time of a commit before it has
 * written it to the disk, so one such writing, some milliseconds, is missing.
 */
async function lagsOf(server: TestServer, load: Omit<FleetLoad, 'from' | 'to' | 'began'>, from: number, began: number) {
  const start = load.first + from * apartMs(load);
  const rows = await server.query<Record<'high' | 'middle' | 'longest' | 'slope' | 'first' | 'last', number>>(
    `WITH told AS (
       SELECT (time - ${start}) / ${load.compressed}.0 AS due,
         extract(epoch FROM pg_xact_commit_timestamp(xmin)) * 1000 - ${began} AS done
       FROM reading WHERE time >= ${start}
     ), lag AS (
       SELECT due::float8 AS due, (done - due)::float8 AS ms, ntile(3) OVER (ORDER BY due) AS third FROM told
     )
     SELECT percentile_disc(0.99) WITHIN GROUP (ORDER BY ms) AS high, percentile_disc(0.5) WITHIN GROUP (ORDER BY ms) AS middle,
       max(ms) AS longest, regr_slope(ms, due) * 1000 AS slope,
       percentile_disc(0.5) WITHIN GROUP (ORDER BY ms) FILTER (WHERE third = 1) AS first,
       percentile_disc(0.5) WITHIN GROUP (ORDER BY ms) FILTER (WHERE third = 3) AS last
     FROM lag`,
    DATABASE,
  );
  return rows[0]!;
}

/** Bytes of a row in its table and in the indexes, without what is in a table once. */
async function sizes(server: TestServer) {
  const of = async (table: string): Promise<{ heap: number; index: number }> => {
    const [row] = await server.query<{ heap: number; index: number }>(
      `SELECT (sum(pg_table_size(relid)) / (SELECT count(*) FROM ${table}))::float8 AS heap,
         (sum(pg_indexes_size(relid)) / (SELECT count(*) FROM ${table}))::float8 AS index
       FROM pg_partition_tree('${table}') WHERE isleaf`,
      DATABASE,
    );
    return row!;
  };
  const [reading, record] = [await of('reading'), await of('hour_record')];
  return {
    readingHeap: reading.heap,
    readingIndex: reading.index,
    readingBytes: reading.heap + reading.index,
    recordHeap: record.heap,
    recordIndex: record.index,
    recordBytes: record.heap + record.index,
  };
}
