import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import mqtt from 'mqtt';
import { expect, it, onTestFinished } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { everyReading } from '../ingest/home.ts';
import { freePort } from '../ingest/processes.ts';
import { FIRST, MINUTE, messageOf } from './device.ts';
import { newDataFolder, startProgram } from './program.ts';

/** A logger's file of many rows, of another year than the readings that come by MQTT. */
function bigFile(): string {
  const begin = Date.UTC(2024, 0, 1);
  const rows = Array.from(
    { length: 300_000 },
    (_, n) => `${new Date(begin + n * MINUTE).toISOString()},${(15 + (n % 50) / 10).toFixed(1)}`,
  );
  return `time,temperature_c\n${rows.join('\n')}\n`;
}

it('asked to stop with open pages, a running import and MQTT load, it ends with 0 within five seconds, and nothing that was acknowledged is lost', async () => {
  const data = await newDataFolder();
  onTestFinished(data.remove);
  const port = String(await freePort());
  const program = startProgram({ dataFolder: data.folder, from: 'source', settings: { COOMB_MQTT_PORT: port } });
  onTestFinished(() => program.kill());
  const page = await program.address;
  const api = `${page}/api/v1/dwellings/gable-cottage`;

  const pages = await Promise.all(Array.from({ length: 20 }, () => fetch(`${api}/live`)));
  expect(pages.every(({ status }) => status === 200)).toBe(true);
  for (const { body } of pages) void body!.pipeTo(new WritableStream()).catch(() => undefined);

  const answered = async (response: Response) => (await response.json()) as { id: string; state: string };
  let file = await answered(await fetch(`${api}/imports?name=log.csv`, { method: 'POST', body: bigFile() }));
  while (file.state === 'checking') file = await answered(await fetch(`${api}/imports/${file.id}`));
  const run = { method: 'POST', body: '{"sensorKey":"old-log"}', headers: { 'content-type': 'application/json' } };
  file = await answered(await fetch(`${api}/imports/${file.id}/run`, run));

  const acknowledged: number[] = [];
  let next = 0;
  let stopped = false;
  const clients = await Promise.all(
    Array.from({ length: 4 }, () => mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { reconnectPeriod: 0 })),
  );
  const lane = async (client: mqtt.MqttClient): Promise<void> => {
    while (!stopped && client.connected) {
      const n = next++;
      const sent = client.publishAsync('coomb/gable-cottage/attic', messageOf(n), { qos: 1 });
      await sent.then(
        () => acknowledged.push(n),
        () => undefined,
      );
    }
  };
  for (const client of clients) {
    client.on('error', () => {});
    for (let k = 0; k < 10; k++) void lane(client);
  }
  while (acknowledged.length < 500) await pause(20);
  file = await answered(await fetch(`${api}/imports/${file.id}`));
  expect(file.state).toBe('reading');

  const asked = performance.now();
  const code = await program.stop();
  const tookMs = performance.now() - asked;
  stopped = true;
  await Promise.all(clients.map((client) => client.endAsync(true)));
  expect(code).toBe(0);
  expect(tookMs).toBeLessThan(5000);

  const store = await openSqliteStore(join(data.folder, 'coomb.db'));
  onTestFinished(() => store.close());
  const { id } = (await store.dwellings())[0]!;
  const numbers = (await everyReading(store, id))
    .filter(([sensor]) => sensor === 'attic')
    .map(([, , time]) => (time - FIRST) / MINUTE);
  const kept = new Set(numbers);
  expect(numbers).toHaveLength(kept.size);
  expect(acknowledged.filter((n) => !kept.has(n))).toEqual([]);
}, 120_000);
