import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Browser, chromium } from 'playwright-core';

// the one without windows first: it does the same with half of the work
const names = ['chromium-headless-shell', 'chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable'];
const folders = [...(process.env.PATH ?? '').split(delimiter), '/usr/bin'];

/** Where a Chromium is on this machine; null: the browser tests are left out. */
export const chromiumPath: string | null =
  folders.flatMap((folder) => names.map((name) => join(folder, name))).find((path) => existsSync(path)) ?? null;

if (chromiumPath === null) {
  console.warn(
    'Browser tests left out: no Chromium on PATH. Install one, e.g. the Debian package chromium-headless-shell.',
  );
}

export function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: chromiumPath!,
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

export interface DemoHome {
  readonly address: string;
  close(): Promise<void>;
}

/** A program without any home yet, and the broker it brings. */
export interface EmptyHome extends DemoHome {
  readonly broker: string;
  /** file of its database */
  readonly database: string;
}

const cli = fileURLToPath(new URL('../../dist/server/cli.js', import.meta.url));

/** The demo as `npm run demo` starts it, in its own process, on ports the system gives, with a folder of its own. */
export const startDemo = (): Promise<DemoHome> => startProgram('demo');

/** The demo's home without the demo: its sensors sent what they had up to now and say no more, so that screens keep still. */
export async function startStillDemo(): Promise<DemoHome> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-browser-'));
  const loading = spawn(process.execPath, [cli, 'demo-load', '--data', folder], { stdio: 'inherit' });
  const [code] = await once(loading, 'exit');
  if (code !== 0) throw new Error(`The demo's home could not be loaded: ${code}.`);
  const program = await startOn(0, folder);
  const close = async () => {
    await program.close();
    rmSync(folder, { recursive: true, force: true });
  };
  return { address: program.address, close };
}

/** The program as `npm start` starts it, knowing nothing yet, with further settings. */
export const startEmpty = (settings: Readonly<Record<string, string>> = {}): Promise<EmptyHome> =>
  startProgram('start', settings);

/** The same on a port of its own, in a folder that stays: it can be ended and started again. */
export async function startOn(httpPort: number, folder: string): Promise<EmptyHome> {
  const child = spawn(process.execPath, [cli, 'start'], {
    env: { ...process.env, COOMB_HTTP_PORT: String(httpPort), COOMB_MQTT_PORT: '0', COOMB_DATA: folder },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  return { ...(await addressesSaid(child)), database: join(folder, 'coomb.db'), close: () => ended(child) };
}

async function startProgram(
  command: 'demo' | 'start',
  settings: Readonly<Record<string, string>> = {},
): Promise<EmptyHome> {
  if (!existsSync(cli)) throw new Error('The program is not built: run npm run build before the browser tests.');
  const folder = mkdtempSync(join(tmpdir(), 'coomb-browser-'));
  const child = spawn(process.execPath, command === 'demo' ? [cli, command, '--data', folder] : [cli, command], {
    env: { ...process.env, COOMB_HTTP_PORT: '0', COOMB_MQTT_PORT: '0', COOMB_DATA: folder, ...settings },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const close = async () => {
    await ended(child);
    rmSync(folder, { recursive: true, force: true });
  };
  try {
    return { ...(await addressesSaid(child)), database: join(folder, 'coomb.db'), close };
  } catch (error) {
    await close();
    throw error;
  }
}

function addressesSaid(child: ChildProcess): Promise<Pick<EmptyHome, 'address' | 'broker'>> {
  return new Promise((resolve, reject) => {
    let said = '';
    const hear = (chunk: Buffer) => {
      said += chunk.toString();
      const address = /Open (http:\/\/\S+)/.exec(said)?.[1];
      const broker = /publish to (mqtt:\/\/\S+)/.exec(said)?.[1];
      if (address !== undefined && broker !== undefined) resolve({ address, broker });
    };
    child.stdout?.on('data', hear);
    child.stderr?.on('data', hear);
    child.once('exit', (code, signal) =>
      reject(new Error(`The program ended with ${code ?? signal} before it said where it is:\n${said}`)),
    );
  });
}

function ended(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve();
  return new Promise((resolve) => {
    child.once('exit', () => resolve());
    child.kill('SIGTERM');
  });
}
