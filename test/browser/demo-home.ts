import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Browser, chromium } from 'playwright-core';

const names = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable'];
const folders = [...(process.env.PATH ?? '').split(delimiter), '/usr/bin'];

/** Where a Chromium is on this machine; null: the browser tests are left out. */
export const chromiumPath: string | null =
  folders.flatMap((folder) => names.map((name) => join(folder, name))).find((path) => existsSync(path)) ?? null;

if (chromiumPath === null) {
  console.warn('Browser tests left out: no Chromium on PATH. Install one, e.g. the Debian package chromium.');
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

const cli = fileURLToPath(new URL('../../dist/server/cli.js', import.meta.url));

/** The demo as `npm run demo` starts it, in its own process, on ports the system gives, with a folder of its own. */
export async function startDemo(): Promise<DemoHome> {
  if (!existsSync(cli)) throw new Error('The program is not built: run npm run build before the browser tests.');
  const folder = mkdtempSync(join(tmpdir(), 'coomb-browser-'));
  const child = spawn(process.execPath, [cli, 'demo', '--data', folder], {
    env: { ...process.env, COOMB_HTTP_PORT: '0', COOMB_MQTT_PORT: '0' },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  try {
    return {
      address: await addressSaid(child),
      close: async () => {
        await ended(child);
        rmSync(folder, { recursive: true, force: true });
      },
    };
  } catch (error) {
    await ended(child);
    rmSync(folder, { recursive: true, force: true });
    throw error;
  }
}

function addressSaid(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let said = '';
    const hear = (chunk: Buffer) => {
      said += chunk.toString();
      const address = /Open (http:\/\/\S+)/.exec(said)?.[1];
      if (address !== undefined) resolve(address);
    };
    child.stdout?.on('data', hear);
    child.stderr?.on('data', hear);
    child.once('exit', (code, signal) =>
      reject(new Error(`The demo ended with ${code ?? signal} before it said where it is:\n${said}`)),
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
