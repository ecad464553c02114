import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { openPostgresStore } from '../../server/store/postgres.ts';
import { dwelling } from '../ingest/home.ts';
import { startMosquitto } from '../ingest/processes.ts';
import { givenWatchedPlace } from '../store/contract/given.ts';
import { startServer } from '../store/postgres-server.ts';
import {
  ALIVE_MS,
  durableMosquitto,
  GENTLE_PAUSE_MS,
  type Installation,
  type KillOptions,
  type KillOutcome,
  killParts,
  listensAgain,
  mortal,
  PATIENCE_MS,
  SENSORS,
  stopped,
  within,
} from './kill-again.ts';
import { startProgram } from './program.ts';

/**
 * Parts of an installation of several processes on PostgreSQL: two that take readings as a group, one that keeps hours and
 * watch, one that serves pages, Mosquitto between devices and them, and the server of the database.
 */
export const parts = ['first', 'second', 'upkeep', 'pages', 'mosquitto', 'postgres'] as const;
export type Part = (typeof parts)[number];
type Process = Exclude<Part, 'mosquitto' | 'postgres'>;

const duties: Readonly<Record<Process, string>> = {
  first: 'readings',
  second: 'readings',
  upkeep: 'upkeep',
  pages: 'pages',
};
const processes = Object.keys(duties) as Process[];
const takers = ['first', 'second'] as const;

export interface KillSeveralOptions extends Pick<KillOptions, 'from' | 'start'> {
  /** who is killed, in this order */
  readonly victims: readonly Part[];
}

/** Kills parts of an installation of several processes one after the other; the rest of it goes on meanwhile. */
export const killSeveral = async ({ victims, from, start }: KillSeveralOptions): Promise<KillOutcome> =>
  killParts(await severalProcesses(victims, from), victims.length, start);

async function severalProcesses(victims: readonly Part[], from: KillSeveralOptions['from']): Promise<Installation> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-several-'));
  const [server, mosquitto] = await Promise.all([startServer(), startMosquitto(...durableMosquitto)]);
  const database = await server.database();
  const home = await givenHome();
  const running = new Map(
    processes.map((name) => {
      const settings = {
        COOMB_DATABASE_URL: database.url,
        COOMB_MQTT_URL: `mqtt://127.0.0.1:${mosquitto.port}`,
        COOMB_MQTT_CLIENT_ID: name,
        COOMB_INGEST_GROUP: 'attics',
        COOMB_DUTIES: duties[name],
      };
      return [name, mortal(() => startProgram({ dataFolder: join(folder, name), from, settings }))];
    }),
  );
  const current = (name: Process) => running.get(name)!.current();
  const remove = async (): Promise<void> => {
    await Promise.all(processes.map((name) => current(name).kill()));
    await mosquitto.stop();
    await server.stop();
    rmSync(folder, { recursive: true, force: true });
  };

  async function givenHome(): Promise<number> {
    const store = await database.open();
    const added = await store.addDwelling(dwelling);
    for (let k = 0; k < SENSORS; k++) await givenWatchedPlace(store, added, 'room-air', `s${k}`);
    await store.close();
    return added.id;
  }

  const countOf = async (sql: string): Promise<number> =>
    Number((await server.query<{ n: string }>(`SELECT (${sql}) AS n`, nameOf(database.url)))[0]!.n);
  const readings = 'SELECT count(*) FROM reading';

  async function until(isDone: () => Promise<boolean>): Promise<boolean> {
    for (let waited = 0; waited < PATIENCE_MS; waited += 50) {
      if (await isDone()) return true;
      await pause(50);
    }
    return false;
  }

  async function ready(): Promise<void> {
    for (const name of processes) await running.get(name)!.serves();
    for (const name of takers) await listensAgain(current(name), 1);
  }

  const hearsAgain = (name: (typeof takers)[number], times: number): Promise<void> =>
    listensAgain(current(name), times);

  /** Mosquitto writes down once a second what it keeps for those that are away: nobody is, and nothing waits. */
  async function killMosquitto(acknowledged: ReadonlySet<number>): Promise<void> {
    await ready();
    const said = acknowledged.size;
    if (!(await until(async () => (await countOf(readings)) >= said))) {
      throw new Error(`${PATIENCE_MS / 1000} s after ${said} readings were acknowledged some of them are not kept`);
    }
    const before = new Map(takers.map((name) => [name, timesHeard(name)]));
    await pause(Math.random() * ALIVE_MS);
    await mosquitto.restart();
    for (const name of takers) await hearsAgain(name, before.get(name)! + 1);
  }

  const timesHeard = (name: Process): number => current(name).log.join('').split('connected to the broker').length - 1;

  try {
    await within(ready(), 'some part does not work');
    await mosquitto.save();
  } catch (error) {
    await remove();
    throw error;
  }
  return {
    port: mosquitto.port,
    // Mosquitto 2.0.11 forgets when it is killed what it shares, and tells those that speak MQTT 5 that nobody hears them
    speaks: 5,
    pauseMs: GENTLE_PAUSE_MS,
    async killOne(k, acknowledged) {
      const victim = victims[k]!;
      if (victim === 'mosquitto') return killMosquitto(acknowledged);
      if (victim !== 'postgres') return running.get(victim)!.killAtRandom();
      await pause(Math.random() * ALIVE_MS);
      await server.crash();
    },
    ready,
    open: () => openPostgresStore({ url: database.url }),
    async check(count) {
      if (!(await until(async () => (await countOf('SELECT count(*) FROM stale_hour')) === 0))) {
        return 'hours are still stale';
      }
      const counted = await countOf('SELECT coalesce(sum(temperature_count), 0) FROM hour_record');
      if (counted !== count) return `hour records are made of ${counted} readings`;
      // every entry of every index, and every row in its index; from the additional modules of PostgreSQL
      await server.query('CREATE EXTENSION IF NOT EXISTS amcheck', nameOf(database.url));
      await server.query(
        `SELECT bt_index_check(indexrelid, true) FROM pg_index JOIN pg_class ON pg_class.oid = indexrelid
         WHERE relam = (SELECT oid FROM pg_am WHERE amname = 'btree') AND relkind = 'i' AND indisvalid`,
        nameOf(database.url),
      );
      const store = await openPostgresStore({ url: database.url });
      const faults = await store.checkSeals(home);
      await store.close();
      return faults.length === 0 ? 'ok' : JSON.stringify(faults);
    },
    async stop() {
      for (const name of processes) await stopped(current(name));
    },
    remove,
  };
}

const nameOf = (url: string): string => /\/(test_\d+)/.exec(url)![1]!;
