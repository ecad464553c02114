import type { ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { dwelling } from '../ingest/home.ts';
import { ended, run } from '../ingest/processes.ts';

/** The whole program as a person runs it, `coomb start`, as a process of its own. */
export interface Program {
  readonly process: ChildProcess;
  /** resolves with the address of the page once it serves; rejects when it ended before */
  readonly address: Promise<string>;
  /** lines of its log so far, as it wrote them */
  readonly log: readonly string[];
  kill(): Promise<void>;
  /** Asks it to stop and gives its exit code; null: it was killed by a signal. */
  stop(signal?: 'SIGTERM' | 'SIGINT'): Promise<number | null>;
}

export interface ProgramOptions {
  readonly dataFolder: string;
  /** the sources by tsx, or what `npm run build` made of them */
  readonly from: 'source' | 'build';
  readonly settings?: Readonly<Record<string, string>>;
}

const root = fileURLToPath(new URL('../..', import.meta.url));

export function startProgram({ dataFolder, from, settings = {} }: ProgramOptions): Program {
  const script =
    from === 'source' ? ['--import', 'tsx', join(root, 'server/cli.ts')] : [join(root, 'dist/server/cli.js')];
  const child = run(process.execPath, ['--max-semi-space-size=4', ...script, 'start'], {
    PATH: process.env.PATH,
    COOMB_DATA: dataFolder,
    COOMB_HTTP_PORT: '0',
    COOMB_MQTT_PORT: '0',
    ...settings,
  });
  const log: string[] = [];
  child.stderr!.on('data', (text: Buffer) => {
    log.push(text.toString());
    process.stderr.write(text);
  });
  const address = new Promise<string>((resolve, reject) => {
    createInterface({ input: child.stdout! }).on('line', (line) => {
      const open = /Open (https?:\S+)/.exec(line);
      if (open !== null) resolve(open[1]!);
      else if (line.startsWith('{')) log.push(line);
    });
    child.once('exit', (code, signal) => reject(new Error(`coomb ended with ${signal ?? code}: ${log.join('\n')}`)));
  });
  // whoever kills it before it serves does not ask for its address
  address.catch(() => undefined);
  return {
    process: child,
    address,
    log,
    async kill() {
      child.kill('SIGKILL');
      await ended(child);
    },
    async stop(signal = 'SIGTERM') {
      child.kill(signal);
      await ended(child);
      return child.exitCode;
    },
  };
}

/** A data folder with a home in it, and what takes it away again. */
export async function newDataFolder(): Promise<{ readonly folder: string; remove(): void }> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-program-'));
  await addHome(folder);
  return { folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}

/** A home in the database of a data folder. */
export async function addHome(folder: string): Promise<void> {
  const store = await openSqliteStore(join(folder, 'coomb.db'));
  await store.addDwelling(dwelling);
  await store.close();
}
