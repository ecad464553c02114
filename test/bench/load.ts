import { setMaxListeners } from 'node:events';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import mqtt from 'mqtt';
import { HOUR_MS, placeKinds } from '../../server/analysis/vocabulary.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import type { IncomingReading } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { type BenchRow, within } from './row.ts';
import { addHome, listen, median, percentile, publishSteadily, start, timed, valuesAt } from './running.ts';

const MINUTE_MS = 60_000;

/**
 * The program as it is started by hand, under more than one home gives it: two years of readings by the minute, a
 * thousand homes at once, two hundred open pages. On Linux alone, for /proc.
 */
const YEARS = 2;

/** Eight sensors, a reading a minute, two years: 17 million rows, and what the program makes of them. */
async function largeHome(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-large-'));
  try {
    const path = join(folder, 'coomb.db');
    const from = Date.UTC(2024, 9, 1);
    const to = from + YEARS * 365 * 86_400_000;
    const works = from + 365 * 86_400_000;
    const store = await openSqliteStore(path);
    const dwellingId = await addHome(store, 'large', placeKinds.length);
    await store.addPhase({ dwellingId, kind: 'before', name: 'before', from, to: works });
    await store.addPhase({ dwellingId, kind: 'after', name: 'lined', from: works, to: null });
    let rows = 0;
    for (let hour = from; hour < to; hour += HOUR_MS) {
      const readings: IncomingReading[] = [];
      for (let time = hour; time < hour + HOUR_MS; time += MINUTE_MS) {
        for (let k = 0; k < placeKinds.length; k++) {
          const { temperature, humidity } = valuesAt(time, k, hour >= works);
          const reading = { dwellingId, sensorKey: `sensor-${k}`, time: time + k * 731 };
          readings.push({ ...reading, quantity: 'temperature', value: temperature });
          readings.push({ ...reading, quantity: 'humidity', value: humidity });
        }
      }
      await store.append({ receivedAt: hour + HOUR_MS, readings, quarantined: [] });
      rows += readings.length;
    }
    const hourly = await keepHours(store);
    const surface = (await store.places(dwellingId)).find(({ kind }) => kind === 'ceiling-surface')!;
    await store.close();
    const bytes = statSync(path).size;

    const running = await start(folder);
    try {
      // it looks through what it finds first
      await pause(20_000);
      const compare = `${running.address}/api/v1/dwellings/large/comparison?surface=${surface.id}`;
      const cold = await timed(compare);
      const warm: number[] = [];
      for (let k = 0; k < 20; k++) warm.push(await timed(compare));
      for (const path of ['now', 'sensors', `places/${surface.id}/hours`, `places/${surface.id}/winters`]) {
        await timed(`${running.address}/api/v1/dwellings/large/${path}`);
      }
      const beside = `peak ${running.peak().toFixed(0)} MiB`;
      await pause(30_000);
      return [
        within(
          `${(rows / 1e6).toFixed(1)} million readings, size of the file for each`,
          bytes / rows,
          30,
          'bytes',
          `with ${hourly.records} hour records`,
        ),
        within('the same, from the command to ready', running.seconds, 1, 's'),
        within('the same, before and after, cold', cold, 300, 'ms'),
        within('the same, before and after, warm', median(warm), 50, 'ms'),
        within('the same, server afterwards, resident', running.resident(), 150, 'MiB', beside),
      ];
    } finally {
      await running.stop();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const HOMES = 1000;
const SENSORS = 6;
const EVERY_S = 300;
/** How much faster than the clock an hour goes by. */
const COMPRESSED = 20;

/** A thousand homes of six sensors that report every five minutes, an hour of it in three minutes. */
async function manyHomes(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-homes-'));
  try {
    const store = await openSqliteStore(join(folder, 'coomb.db'));
    for (let home = 0; home < HOMES; home++) await addHome(store, `home-${home}`, SENSORS);
    await store.close();
    const running = await start(folder);
    const clients = await Promise.all(Array.from({ length: 20 }, () => mqtt.connectAsync(running.broker)));
    try {
      const messages = (HOMES * SENSORS * 3600) / EVERY_S;
      const first = Date.now() - HOUR_MS;
      const lags = await publishSteadily(clients, messages, (messages / 3600) * COMPRESSED, (n) => {
        const sensor = n % (HOMES * SENSORS);
        const time = first + Math.floor(n / (HOMES * SENSORS)) * EVERY_S * 1000;
        const { temperature, humidity } = valuesAt(time, sensor % SENSORS, false);
        return {
          topic: `coomb/home-${Math.floor(sensor / SENSORS)}/sensor-${sensor % SENSORS}`,
          payload: JSON.stringify({
            time: new Date(time).toISOString(),
            temperature_c: temperature,
            humidity_pct: humidity,
          }),
        };
      });
      const last = lags.slice(-messages / 10);
      const note = `${messages} messages at ${((messages / 3600) * COMPRESSED).toFixed(0)}/s, longest ${(Math.max(...lags) / 1000).toFixed(2)} s; the last tenth ${(percentile(last, 0.99) / 1000).toFixed(2)} s; peak ${running.peak().toFixed(0)} MiB`;
      const name = `${HOMES} homes, an hour ${COMPRESSED} times as fast: PUBLISH to durable, 99th of 100`;
      return [within(name, percentile(lags, 0.99) / 1000, 1, 's', note)];
    } finally {
      await Promise.all(clients.map((client) => client.endAsync(true)));
      await running.stop();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** PUBLISH to server-sent event: one page at 500 messages a second, then two hundred pages at 20. */
async function openPages(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-pages-'));
  try {
    const store = await openSqliteStore(join(folder, 'coomb.db'));
    await addHome(store, 'open', placeKinds.length);
    await store.close();
    const running = await start(folder);
    const clients = await Promise.all(Array.from({ length: 10 }, () => mqtt.connectAsync(running.broker)));
    try {
      const measure = async (pages: number, messages: number, rate: number): Promise<number[]> => {
        const sent = new Map<string, number>();
        const waits: number[] = [];
        const leaving = new AbortController();
        setMaxListeners(0, leaving.signal);
        const hear = ({ name, data }: { readonly name: string; readonly data: string }): void => {
          if (name !== 'reading') return;
          const { sensorKey, time, quantity } = JSON.parse(data) as Record<string, string>;
          const at = quantity === 'temperature' ? sent.get(`${sensorKey} ${time}`) : undefined;
          if (at !== undefined) waits.push(performance.now() - at);
        };
        const live = `${running.address}/api/v1/dwellings/open/live`;
        await Promise.all(Array.from({ length: pages }, () => listen(live, leaving.signal, hear)));
        const base = Date.now() - HOUR_MS;
        await publishSteadily(clients, messages, rate, (n) => {
          const sensorKey = `sensor-${n % placeKinds.length}`;
          // a millisecond apart, so that each is a reading of its own
          const time = new Date(base + n - pages * 100_000).toISOString();
          sent.set(`${sensorKey} ${time}`, performance.now());
          return {
            topic: `coomb/open/${sensorKey}`,
            payload: JSON.stringify({ time, temperature_c: 18 + (n % 7) / 10 }),
          };
        });
        await pause(1000);
        leaving.abort();
        if (waits.length !== messages * pages) {
          throw new Error(`${pages} pages heard ${waits.length} of ${messages * pages} readings`);
        }
        return waits;
      };
      const one = await measure(1, 15_000, 500);
      const many = await measure(200, 600, 20);
      return [
        within('PUBLISH to an open page at 500 messages/s, 99th of 100', percentile(one, 0.99), 250, 'ms'),
        within(
          'PUBLISH to 200 open pages at 20 messages/s, 99th of 100',
          percentile(many, 0.99),
          250,
          'ms',
          `peak ${running.peak().toFixed(0)} MiB`,
        ),
      ];
    } finally {
      await Promise.all(clients.map((client) => client.endAsync(true)));
      await running.stop();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

export async function benchLoad(): Promise<BenchRow[]> {
  return [...(await openPages()), ...(await manyHomes()), ...(await largeHome())];
}
