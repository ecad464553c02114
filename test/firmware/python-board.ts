import { spawn, spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { account, DWELLING, type Home } from './home.ts';

export const programFolder = fileURLToPath(new URL('../../firmware-notes/micropython/', import.meta.url));
export const boardFolder = fileURLToPath(new URL('./board/', import.meta.url));

export const hasPython = spawnSync('python3', ['--version']).status === 0;
export const pythonMissing = 'python3 is not on PATH; on Debian: apt-get install -y python3';

/** What the simulated board lives through; see board/world.py. Times are UTC seconds. */
export interface Scenario {
  readonly start: number;
  readonly wakes: number;
  readonly shtAddress: number;
  readonly epoch?: 1970 | 2000;
  readonly wifiAway?: readonly (readonly [number, number])[];
  readonly ntpAway?: readonly (readonly [number, number])[];
  readonly shtFaults?: readonly (readonly [number, number])[];
  readonly dsFaults?: readonly (readonly [number, number])[];
  readonly cutAt?: number;
}

export interface BoardSettings {
  readonly port: number;
  readonly host?: string;
  readonly password?: string;
  readonly caFile?: string;
  readonly measureEverySeconds?: number;
  readonly sendEvery?: number;
  readonly bufferFiles?: number;
  readonly bufferLines?: number;
}

/** The example settings as a user would edit them. */
function settingsText(settings: BoardSettings): string {
  const text = (value: string | undefined): string => (value === undefined ? 'None' : JSON.stringify(value));
  return `from settings_example import *
BROKER_HOST = ${text(settings.host ?? '127.0.0.1')}
BROKER_PORT = ${settings.port}
BROKER_USER = ${text(account.username)}
BROKER_PASSWORD = ${text(settings.password ?? account.password)}
CA_FILE = ${text(settings.caFile)}
DWELLING = ${text(DWELLING)}
MEASURE_EVERY_S = ${settings.measureEverySeconds ?? 300}
SEND_EVERY = ${settings.sendEvery ?? 6}
BUFFER_FILES = ${settings.bufferFiles ?? 64}
BUFFER_LINES = ${settings.bufferLines ?? 48}
`;
}

/** A board's flash with the program on it. */
export function flash(home: Home, settings: BoardSettings): string {
  const folder = mkdtempSync(join(home.folder, 'flash-'));
  for (const file of readdirSync(programFolder)) {
    if (file.endsWith('.py')) cpSync(join(programFolder, file), join(folder, file));
  }
  writeFileSync(join(folder, 'settings.py'), settingsText(settings));
  return folder;
}

export interface BoardRun {
  /** when the board woke, UTC s */
  readonly wakes: readonly number[];
  /** when it tried to join the Wi-Fi, UTC s */
  readonly joins: readonly number[];
  /** places at which the power could have been cut */
  readonly moments: number | null;
  /** the wake the power was cut in, or null when it was not */
  readonly cutInWake: number | null;
  /** what the program printed */
  readonly said: readonly string[];
}

/** One time between connecting the battery and losing it. Flash outlives it; clock and RTC memory do not. */
export interface Life {
  readonly folder: string;
  readonly scenario: Scenario;
}

/** Lives of simulated boards, one after the other. */
export async function powerUpEach(lives: readonly Life[]): Promise<BoardRun[]> {
  const child = spawn('python3', [join(boardFolder, 'board.py'), JSON.stringify(lives)], {
    env: { ...process.env, PYTHONPYCACHEPREFIX: join(lives[0]!.folder, '..', 'compiled') },
  });
  let out = '';
  let err = '';
  child.stdout.setEncoding('utf8').on('data', (chunk: string) => {
    out += chunk;
  });
  child.stderr.setEncoding('utf8').on('data', (chunk: string) => {
    err += chunk;
  });
  const code = await new Promise<number | null>((resolve, reject) => {
    child.on('error', reject);
    child.on('close', resolve);
  });
  const runs = readReport(out);
  if (code !== 0 || err !== '' || runs.length !== lives.length) {
    throw new Error(`the simulated board failed (${code}): ${err}${out}`);
  }
  return runs;
}

export const powerUp = async (folder: string, scenario: Scenario): Promise<BoardRun> =>
  (await powerUpEach([{ folder, scenario }]))[0]!;

export function readReport(out: string): BoardRun[] {
  const runs: BoardRun[] = [];
  let wakes: number[] = [];
  let joins: number[] = [];
  let said: string[] = [];
  let moments: number | null = null;
  for (const line of out.split('\n')) {
    if (line === '') continue;
    if (!line.startsWith('{"')) {
      said.push(line);
      continue;
    }
    const told = JSON.parse(line) as { wake?: number; joins?: number; moments?: number; code?: number };
    if (told.wake !== undefined) wakes.push(told.wake);
    if (told.joins !== undefined) joins.push(told.joins);
    moments = told.moments ?? moments;
    if (told.code === undefined) continue;
    runs.push({ wakes, joins, said, moments, cutInWake: told.code === 9 ? wakes.at(-1)! : null });
    [wakes, joins, said, moments] = [[], [], [], null];
  }
  return runs;
}
