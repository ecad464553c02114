import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readdirSync, readFileSync } from 'node:fs';
import { get, type IncomingMessage } from 'node:http';
import { setTimeout as pause } from 'node:timers/promises';
import type { MqttClient } from 'mqtt';
import { HOUR_MS, placeKinds } from '../../server/analysis/vocabulary.ts';
import type { Store } from '../../server/store/port.ts';
import { dwellingCalled } from '../store/contract/given.ts';

/** The program as it is started by hand, for the benches that run it. On Linux alone, for /proc. */
const cli = new URL('../../dist/server/cli.js', import.meta.url).pathname;
const MIB = 1 << 20;
const MINUTE_MS = 60_000;

export interface Running {
  readonly address: string;
  readonly broker: string;
  /** from the command to `/readyz` answering that it is ready, s */
  readonly seconds: number;
  /** MiB, as `peak` */
  resident(): number;
  peak(): number;
  /** open file handles */
  handles(): number;
  readonly processId: number;
  stop(): Promise<void>;
}

/** @param settings environment variables beside or in the place of its own */
export async function start(folder: string, settings: Readonly<Record<string, string>> = {}): Promise<Running> {
  const began = performance.now();
  const child = spawn(process.execPath, ['--max-semi-space-size=4', cli, 'start'], {
    env: { ...process.env, COOMB_HTTP_PORT: '0', COOMB_MQTT_PORT: '0', COOMB_DATA: folder, ...settings },
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  const text = await printed(child);
  const address = /(http:\/\/\S+)/.exec(text)![1]!;
  const broker = /(mqtt:\/\/\S+)/.exec(text)![1]!;
  while (!(await fetch(`${address}/readyz`)).ok) await pause(5);
  const seconds = (performance.now() - began) / 1000;
  const memory = (line: 'VmRSS' | 'VmHWM'): number =>
    (Number(new RegExp(`${line}:\\s+(\\d+) kB`).exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'))![1]) * 1024) /
    MIB;
  return {
    address,
    broker,
    seconds,
    resident: () => memory('VmRSS'),
    peak: () => memory('VmHWM'),
    processId: child.pid!,
    handles: () => readdirSync(`/proc/${child.pid}/fd`).length,
    async stop() {
      const ended = once(child, 'exit');
      child.kill('SIGTERM');
      await ended;
    },
  };
}

/** What the program has said once it has named both its addresses. */
async function printed(child: ChildProcess): Promise<string> {
  let text = '';
  for await (const chunk of child.stdout!) {
    text += String(chunk);
    if (/http:\/\/\S+\s/.test(text) && /mqtt:\/\/\S+\s/.test(text)) return text;
  }
  throw new Error(`the program ended without its addresses: ${text}`);
}

export async function addHome(store: Store, slug: string, sensors: number): Promise<number> {
  const { id } = await store.addDwelling(dwellingCalled(slug));
  for (const [k, kind] of placeKinds.slice(0, sensors).entries()) {
    const place = await store.addPlace({ dwellingId: id, name: kind, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(id, `sensor-${k}`);
    await store.placeSensor(id, sensor.id, place.id, 0);
  }
  return id;
}

/** Temperature and humidity of a sensor: a house that follows a year and a day, with a cold strip before the works. */
export function valuesAt(time: number, k: number, lined: boolean): { temperature: number; humidity: number } {
  const year = Math.cos((2 * Math.PI * (time / 86_400_000 - 15)) / 365.25);
  const day = Math.cos((2 * Math.PI * (time - 15 * HOUR_MS)) / 86_400_000);
  const unrest = ((Math.floor(time / MINUTE_MS) * 7919 + k * 31) % 17) / 40;
  const outdoor = 10 - 8 * year + 3 * day + unrest;
  const room = 19 + 1.2 * day + unrest / 2;
  const share =
    placeKinds[k] === 'ceiling-surface' ? (lined ? 0.9 : 0.55) : placeKinds[k] === 'control-surface' ? 0.6 : 0.5;
  const temperature =
    placeKinds[k] === 'room-air'
      ? room
      : placeKinds[k] === 'outdoor-air'
        ? outdoor
        : outdoor + share * (room - outdoor);
  return {
    temperature: Math.round(temperature * 100) / 100,
    humidity: Math.round((62 - 8 * year + 4 * unrest) * 10) / 10,
  };
}

export interface Outgoing {
  readonly topic: string;
  readonly payload: string;
}

/** Publishes at QoS 1 at a steady rate whatever the answers; ms from each PUBLISH to its acknowledgement. */
export async function publishSteadily(
  clients: readonly MqttClient[],
  messages: number,
  perSecond: number,
  message: (n: number) => Outgoing,
): Promise<number[]> {
  const lags: number[] = [];
  const began = performance.now();
  const answers: Promise<void>[] = [];
  for (let n = 0; n < messages; ) {
    const due = Math.min(messages, Math.floor(((performance.now() - began) / 1000) * perSecond));
    for (; n < due; n++) {
      const { topic, payload } = message(n);
      const at = performance.now();
      const client = clients[n % clients.length]!;
      answers.push(
        client.publishAsync(topic, payload, { qos: 1 }).then(() => {
          lags.push(performance.now() - at);
        }),
      );
    }
    await pause(2);
  }
  await Promise.all(answers);
  return lags;
}

/**
 * Hears the events of a stream from when it is open, until it is left. Of two hundred streams the readers of `fetch` take
 * more time than the program that fills them.
 *
 * @source WHATWG HTML, 9.2 Server-sent events
 */
export async function listen(
  url: string,
  signal: AbortSignal,
  heard: (event: { readonly name: string; readonly data: string }) => void,
): Promise<void> {
  const request = get(url, { signal });
  const ignoreLeaving = (error: Error): void => {
    if (!signal.aborted) throw error;
  };
  const [response] = (await once(request, 'response')) as [IncomingMessage];
  if (response.statusCode !== 200) throw new Error(`${url} answered ${response.statusCode}`);
  request.on('error', ignoreLeaving);
  response.on('error', ignoreLeaving);
  let text = '';
  response.setEncoding('utf8').on('data', (chunk: string) => {
    text += chunk;
    const events = text.split('\n\n');
    text = events.pop()!;
    for (const event of events) {
      const name = /^event: (.*)$/m.exec(event)?.[1];
      const data = /^data: (.*)$/m.exec(event)?.[1];
      if (name !== undefined && data !== undefined) heard({ name, data });
    }
  });
}

export async function timed(url: string): Promise<number> {
  const began = performance.now();
  const response = await fetch(url);
  if (!response.ok) throw new Error(`${url} answered ${response.status}`);
  await response.arrayBuffer();
  return performance.now() - began;
}

export const percentile = (values: readonly number[], share: number): number =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(values.length * share))]!;
export const median = (values: readonly number[]): number => percentile(values, 0.5);
