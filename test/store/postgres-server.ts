import { spawn } from 'node:child_process';
import { accessSync, chownSync, constants, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import pg from 'pg';
import { openPostgresStore } from '../../server/store/postgres.ts';
import type { TestDatabase } from './contract/under-test.ts';

/** Where the programs of a PostgreSQL server of version 15 or newer are; null: nowhere. */
export function findServer(): string | null {
  const debian = '/usr/lib/postgresql';
  const versions = (() => {
    try {
      return readdirSync(debian);
    } catch {
      return [];
    }
  })();
  const folders = [
    ...versions
      .filter((version) => Number(version) >= 15)
      .sort((a, b) => Number(b) - Number(a))
      .map((version) => join(debian, version, 'bin')),
    ...(process.env.PATH ?? '').split(delimiter),
  ];
  return folders.find((folder) => ['initdb', 'postgres'].every((name) => isProgram(join(folder, name)))) ?? null;
}

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

export const programs = findServer();

/** What is said where no server can be run, loudly, so that nobody takes a green run for more than it is. */
export const whyNot =
  'NOT RUN: no PostgreSQL server of version 15 or newer is installed (Debian: apt-get install postgresql)';
if (programs === null) console.warn(`\n${whyNot}\n`);

export interface TestServer {
  /** Address of a database on it. */
  url(database: string): string;
  /** A new database, empty but for the schema; `open` opens a store in it. */
  database(): Promise<TestDatabase & { readonly url: string }>;
  /** Runs statements as the owner of the server. */
  query<Row extends object>(sql: string, database?: string): Promise<Row[]>;
  /** id of its first process, which all others are children of */
  processId(): number;
  /** Ends the server at once, in the middle of whatever it does. */
  kill(): Promise<void>;
  /** Starts it on the same files. */
  startAgain(): Promise<void>;
  /** The one after the other. */
  crash(): Promise<void>;
  stop(): Promise<void>;
}

const TEMPLATE = 'coomb_template';
const CONNECT_MS = 5000;

/** The server refuses to run as root. */
function otherUser(): { uid: number; gid: number } | Record<string, never> {
  if (process.getuid?.() !== 0) return {};
  const entry = readFileSync('/etc/passwd', 'utf8')
    .split('\n')
    .map((line) => line.split(':'))
    .find(([name]) => name === 'postgres');
  if (entry === undefined)
    throw new Error('root cannot run a PostgreSQL server, and there is no user postgres to run it');
  return { uid: Number(entry[2]), gid: Number(entry[3]) };
}

/**
 * Starts a server of our own in a temporary folder, on a socket in that folder and on no port. It syncs every commit to
 * disk, as a real one does, and ends with this process, however that ends.
 *
 * @param own settings of the server beside those, as `name=value`
 */
export async function startServer(...own: readonly string[]): Promise<TestServer> {
  const bin = programs;
  if (bin === null) throw new Error(whyNot);
  const user = otherUser();
  const folder = mkdtempSync(join(tmpdir(), 'coomb-pg-'));
  if (user.uid !== undefined) chownSync(folder, user.uid, user.gid);
  const data = join(folder, 'data');
  await run(
    join(bin, 'initdb'),
    ['-D', data, '-U', 'coomb', '--auth=trust', '--encoding=UTF8', '--locale=C', '--no-sync', '--no-instructions'],
    user,
  );

  function launch() {
    const settings = [
      'listen_addresses=',
      `unix_socket_directories=${folder}`,
      'max_connections=100',
      'fsync=on',
      ...own,
    ];
    // the shell ends the server when its standard input ends, which it does with this process
    const script = 'exec 3<&0; "$@" & server=$!; (cat <&3 > /dev/null; kill -INT $server) & wait $server';
    const options = settings.flatMap((setting) => ['-c', setting]);
    return spawn('sh', ['-c', script, 'sh', join(bin!, 'postgres'), '-D', data, ...options], {
      ...user,
      cwd: folder,
      stdio: ['pipe', 'ignore', process.env.COOMB_TEST_PG_LOG === undefined ? 'ignore' : 'inherit'],
    });
  }

  const ended = (): Promise<void> =>
    child.exitCode !== null || child.signalCode !== null
      ? Promise.resolve()
      : new Promise((resolve) => child.once('exit', () => resolve()));

  const url = (database: string): string => `postgres://coomb@/${database}?host=${encodeURIComponent(folder)}`;

  // a server that is killed at that moment may leave a connection that nobody answers
  const clientOf = (database: string): pg.Client =>
    new pg.Client({ connectionString: url(database), connectionTimeoutMillis: CONNECT_MS });

  async function ready(): Promise<void> {
    for (let attempt = 0; ; attempt++) {
      const client = clientOf('postgres');
      try {
        await client.connect();
        await client.end();
        return;
      } catch (error) {
        if (attempt === 800) throw new Error(`the test server in ${folder} does not answer`, { cause: error });
        await setTimeout(50);
        // what a killed server left running keeps another from starting for a moment
        if (child.exitCode !== null) child = launch();
      }
    }
  }

  async function query<Row extends object>(sql: string, database = 'postgres'): Promise<Row[]> {
    const client = clientOf(database);
    await client.connect();
    try {
      return (await client.query<Row>(sql)).rows;
    } finally {
      await client.end();
    }
  }

  let child = launch();
  await ready();
  await query(`CREATE DATABASE ${TEMPLATE}`);
  await (await openPostgresStore({ url: url(TEMPLATE) })).close();

  const processId = (): number => Number(readFileSync(join(data, 'postmaster.pid'), 'utf8').split('\n')[0]);

  async function kill(): Promise<void> {
    process.kill(processId(), 'SIGKILL');
    child.stdin.end();
    await ended();
  }

  let made = 0;
  return {
    url,
    query,
    processId,
    async database() {
      const name = `test_${++made}`;
      await query(`CREATE DATABASE ${name} TEMPLATE ${TEMPLATE}`);
      return {
        url: url(name),
        open: () => openPostgresStore({ url: url(name) }),
        async remove() {
          await query(`DROP DATABASE ${name} WITH (FORCE)`);
        },
      };
    },
    kill,
    async startAgain() {
      child = launch();
      await ready();
    },
    async crash() {
      await kill();
      child = launch();
      await ready();
    },
    async stop() {
      child.stdin.end();
      await ended();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

async function run(program: string, args: readonly string[], user: object): Promise<void> {
  const child = spawn(program, args, { ...user, cwd: tmpdir(), stdio: ['ignore', 'ignore', 'pipe'] });
  let told = '';
  child.stderr.on('data', (chunk) => {
    told += chunk;
  });
  const code = await new Promise((resolve, reject) => {
    child.once('error', reject);
    child.once('close', resolve);
  });
  if (code !== 0) throw new Error(`${program} ended with ${code}: ${told}`);
}
