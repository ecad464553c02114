import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { type BenchRow, within } from './row.ts';

const MIB = 1 << 20;
const LIMIT_MIB = 150;
const cli = new URL('../../dist/server/cli.js', import.meta.url).pathname;

/** Resident memory of a process, or its peak, MiB; from /proc, so on Linux alone. */
const memory = (pid: number, line: 'VmRSS' | 'VmHWM'): number =>
  (Number(new RegExp(`${line}:\\s+(\\d+) kB`).exec(readFileSync(`/proc/${pid}/status`, 'utf8'))![1]) * 1024) / MIB;

/** The demo as a person runs it: time to the printed address, memory at rest and after the pages were asked for. */
export async function benchServer(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-'));
  const started = performance.now();
  const demo = spawn(process.execPath, ['--max-semi-space-size=4', cli, 'demo', '--data', folder], {
    env: { ...process.env, COOMB_HTTP_PORT: '0', COOMB_MQTT_PORT: '0' },
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  try {
    const address = await printedAddress(demo.stdout);
    const openSeconds = (performance.now() - started) / 1000;
    await pause(20_000);
    const atRest = memory(demo.pid!, 'VmRSS');
    const cold = await timed(`${address}/api/v1/dwellings/thrimble-cottage/comparison?surface=6`);
    const warm = await timed(`${address}/api/v1/dwellings/thrimble-cottage/comparison?surface=6`);
    for (const path of ['now', 'sensors', 'places/6/hours', 'places/6/winters', 'places/6/mould']) {
      await timed(`${address}/api/v1/dwellings/thrimble-cottage/${path}`);
    }
    await pause(30_000);
    const afterPages = memory(demo.pid!, 'VmRSS');
    const peak = memory(demo.pid!, 'VmHWM');
    return [
      within('demo, from command to address', openSeconds, 20, 's', 'first start: loads the sample'),
      within('demo server at rest, resident', atRest, LIMIT_MIB, 'MiB'),
      within(
        'demo server after its pages were asked for, resident',
        afterPages,
        LIMIT_MIB,
        'MiB',
        `peak ${peak.toFixed(0)}`,
      ),
      within('comparison, cold', cold, 1000, 'ms', 'two winters, 8 places, 1,000 resamples'),
      within('comparison, warm', warm, 50, 'ms'),
    ];
  } finally {
    demo.kill('SIGTERM');
    await once(demo, 'exit');
    rmSync(folder, { recursive: true, force: true });
  }
}

async function timed(url: string): Promise<number> {
  const start = performance.now();
  const response = await fetch(url);
  if (!response.ok) throw new Error(`${url} answered ${response.status}`);
  await response.arrayBuffer();
  return performance.now() - start;
}

async function printedAddress(output: NodeJS.ReadableStream): Promise<string> {
  let text = '';
  for await (const chunk of output) {
    text += String(chunk);
    const match = /Open (http:\S+)/.exec(text);
    if (match) return match[1]!;
  }
  throw new Error(`the demo ended without an address: ${text}`);
}
