import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir, userInfo } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';

const here = (file: string): string => fileURLToPath(new URL(file, import.meta.url));

export interface Child {
  /** what followed the word `ready` */
  readonly said: string;
  kill(): Promise<void>;
}

/** Nothing a test starts outlives it, however it ends. */
const started = new Set<ChildProcess>();
process.on('exit', () => {
  for (const child of started) child.kill('SIGKILL');
});

export function run(command: string, args: readonly string[], environment = process.env): ChildProcess {
  const child = spawn(command, args, { stdio: ['ignore', 'pipe', 'pipe'], env: environment });
  started.add(child);
  child.once('exit', () => started.delete(child));
  return child;
}

export const ended = (child: ChildProcess): Promise<void> =>
  new Promise((resolve) => {
    if (child.exitCode !== null || child.signalCode !== null) resolve();
    else child.once('exit', () => resolve());
  });

/** Runs a TypeScript file of this folder until it prints `ready`. */
export async function startChild(file: string, ...args: string[]): Promise<Child> {
  const child = run(process.execPath, ['--import', 'tsx', here(file), ...args]);
  child.stderr!.pipe(process.stderr, { end: false });
  const said = await new Promise<string>((resolve, reject) => {
    createInterface({ input: child.stdout! }).on('line', (line) => {
      if (line.startsWith('ready')) resolve(line.slice(6));
    });
    child.once('exit', (code) => reject(new Error(`${file} ended with ${code} before it was ready`)));
  });
  return {
    said,
    async kill() {
      child.kill('SIGKILL');
      await ended(child);
    },
  };
}

/** Ports of each process that runs tests: below those that systems give out to whoever asks for any (ip(7): from 32768). */
const FIRST_PORT = 20_000;
const PORTS_EACH = 500;
let asked = 0;

/**
 * A port of loopback on which nobody listens, and which nobody gets who asks for any port: it is still free when it is
 * listened on later, and again when who did is killed and started anew.
 */
export async function freePort(): Promise<number> {
  const first = FIRST_PORT + (Number(process.env.VITEST_POOL_ID ?? 0) % 20) * PORTS_EACH;
  for (;;) {
    const port = first + (asked++ % PORTS_EACH);
    if (await isFree(port)) return port;
  }
}

const isFree = (port: number): Promise<boolean> =>
  new Promise((resolve) => {
    const server = createServer();
    server.once('error', () => resolve(false));
    server.listen(port, '127.0.0.1', () => server.close(() => resolve(true)));
  });

/** Whether a Mosquitto is on the PATH; where there is none, says what is left out and how to get it. */
export const mosquittoIsHere: boolean = (() => {
  try {
    execFileSync('mosquitto', ['-h'], { stdio: 'ignore' });
    return true;
  } catch (error) {
    // `mosquitto -h` prints its help and ends with a code other than 0
    const here = (error as { code?: string }).code !== 'ENOENT';
    if (!here) {
      console.warn(
        'LEFT OUT: tests against Mosquitto, for there is none on the PATH (Debian: apt-get install mosquitto)',
      );
    }
    return here;
  }
})();

export interface Mosquitto {
  readonly port: number;
  processId(): number;
  /** kills the broker, which forgets all that it was not told to keep */
  kill(): Promise<void>;
  /** tells it to write down now what it is to keep */
  save(): Promise<void>;
  /** starts it again on the same port */
  start(): Promise<void>;
  restart(): Promise<void>;
  stop(): Promise<void>;
}

/** Starts a real Mosquitto on a free port of loopback; `lines` go into its configuration. */
export async function startMosquitto(...lines: string[]): Promise<Mosquitto> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-mosquitto-'));
  const port = await freePort();
  const conf = join(folder, 'mosquitto.conf');
  // started by root it would become a user who cannot write into this folder
  const own = [`listener ${port} 127.0.0.1`, `user ${userInfo().username}`, `persistence_location ${folder}/`];
  writeFileSync(conf, [...own, ...lines, ''].join('\n'));
  let child: ChildProcess;
  const start = async (): Promise<void> => {
    child = run('mosquitto', ['-c', conf]);
    child.stdout!.resume();
    await new Promise<void>((resolve, reject) => {
      createInterface({ input: child.stderr! }).on('line', (line) => {
        if (/ running$/.test(line)) resolve();
      });
      child.once('exit', (code) => reject(new Error(`mosquitto ended with ${code}`)));
    });
  };
  const kill = async (): Promise<void> => {
    child.kill('SIGKILL');
    await ended(child);
  };
  await start();
  return {
    port,
    processId: () => child.pid!,
    kill,
    async save() {
      const kept = join(folder, 'mosquitto.db');
      const before = statSync(kept, { throwIfNoEntry: false })?.mtimeMs;
      child.kill('SIGUSR1');
      while (statSync(kept, { throwIfNoEntry: false })?.mtimeMs === before) {
        await new Promise((resolve) => setTimeout(resolve, 10));
      }
    },
    start,
    async restart() {
      await kill();
      await start();
    },
    async stop() {
      await kill();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

export const connectTo = (port: number, options: IClientOptions = {}): Promise<MqttClient> =>
  mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { reconnectPeriod: 0, protocolVersion: 4, ...options });
