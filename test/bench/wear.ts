import { existsSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import mqtt from 'mqtt';
import { newDataFolder, startProgram } from '../faults/program.ts';
import { freePort } from '../ingest/processes.ts';
import type { BenchRow } from './row.ts';

const SENSORS = 8;
const MINUTES = 24 * 60;
const START = Date.UTC(2026, 0, 5);
const MIB = 1 << 20;
/** Every reading changes a page of its series at least, bytes; the log and the file each take it once. */
const PAGE = 4096;
const PAGES_A_MINUTE = SENSORS * 2;
const MINUTE_IS_MS = 20;

/** Bytes that a process has caused to be written to disk; Linux alone. */
const written = (pid: number): number =>
  Number(/^write_bytes: (\d+)$/m.exec(readFileSync(`/proc/${pid}/io`, 'utf8'))![1]);
const resident = (pid: number): number =>
  (Number(/VmRSS:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))![1]) * 1024) / MIB;

/**
 * A day of eight sensors that send temperature and humidity every minute, minute by minute as they would come, through the
 * program as it is run; what that writes to the disk, against a page for every series every minute, and what a year is.
 */
export async function benchWear(): Promise<BenchRow[]> {
  if (!existsSync('/proc/self/io')) return [];
  const data = await newDataFolder();
  const port = String(await freePort());
  const settings = { COOMB_MQTT_PORT: port, COOMB_LOG_LEVEL: 'silent' };
  const program = startProgram({ dataFolder: data.folder, from: 'build', settings });
  try {
    await program.address;
    const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { reconnectPeriod: 0 });
    await pause(5000);
    const { pid } = program.process;
    const before = written(pid!);
    let payload = 0;
    for (let minute = 0; minute < MINUTES; minute++) {
      // one after the other, as sensors come: each its own commit
      for (let k = 0; k < SENSORS; k++) {
        const time = START + minute * 60_000 + k * 731;
        const wave = Math.sin(minute / 200 + k);
        const values = { temperature_c: (12 + 5 * wave).toFixed(2), humidity_pct: (65 - 12 * wave).toFixed(1) };
        const text = `{"time":${time},"temperature_c":${values.temperature_c},"humidity_pct":${values.humidity_pct}}`;
        payload += text.length;
        await client.publishAsync(`coomb/gable-cottage/s${k}`, text, { qos: 1 });
      }
      await pause(MINUTE_IS_MS);
    }
    await pause(3000);
    const bytes = written(pid!) - before;
    const memory = resident(pid!);
    await client.endAsync();
    await program.stop();
    const size = statSync(join(data.folder, 'coomb.db')).size;
    const limit = MINUTES * PAGES_A_MINUTE * PAGE;
    const year = (bytes * 365) / (1 << 30);
    return [
      {
        name: 'written to disk in a day of eight sensors by the minute, against a page a series a minute',
        measured: bytes / MIB,
        limit: limit / MIB,
        unit: 'MiB',
        ratio: bytes / limit,
        aim: 4,
        direction: 'at most',
        note: `${(payload / MIB).toFixed(2)} MiB of messages, so ${(bytes / payload).toFixed(0)} times them; the file grew to ${(size / MIB).toFixed(2)} MiB; ${year.toFixed(1)} GiB a year`,
      },
      {
        name: 'the program after that day, resident',
        measured: memory,
        limit: 150,
        unit: 'MiB',
        ratio: memory / 150,
        aim: 1,
        direction: 'at most',
      },
    ];
  } finally {
    await program.kill();
    data.remove();
  }
}
