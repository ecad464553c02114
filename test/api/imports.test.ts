import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import mqtt from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { LARGEST_IMPORT } from '../../server/api/contract/imports.ts';
import { givenHome, startServer, type TestServer } from './server.ts';

let server: TestServer;
const home = '/dwellings/mill-cottage';

beforeAll(async () => {
  server = await startServer();
  await givenHome(server);
  await givenHome(server, 'other');
});
afterAll(() => server.close());

const send = (text: string | Uint8Array, name = 'log.csv') =>
  server.operate('beginImport', `${home}/imports?name=${encodeURIComponent(name)}`, {
    bytes: typeof text === 'string' ? Buffer.from(text) : text,
  });
const look = (id: string, of = home) => server.operate('getImport', `${of}/imports/${id}`);

async function settled(id: string) {
  for (;;) {
    const { body } = await look(id);
    if (body.state !== 'checking' && body.state !== 'reading') return body;
    await setTimeout(20);
  }
}
const check = (id: string, json: unknown) => server.operate('checkImport', `${home}/imports/${id}/check`, { json });
const run = (id: string, sensorKey: string) =>
  server.operate('runImport', `${home}/imports/${id}/run`, { json: { sensorKey } });
const sensors = async () => (await server.operate('listSensors', `${home}/sensors`)).body;
const left = (): string[] => {
  const folder = join(server.folder, 'uploads');
  return existsSync(folder) ? readdirSync(folder) : [];
};

const rows = (count: number, from = Date.UTC(2025, 0, 1)): string =>
  Array.from({ length: count }, (_, k) => {
    const time = new Date(from + k * 600_000).toISOString().slice(0, 19).replace('T', ' ');
    return `${time},${(68 + Math.sin(k / 20)).toFixed(2)},${(55 + Math.cos(k / 30)).toFixed(1)}\n`;
  }).join('');
const log = `Time,Temp (°F),RH (%)\n${rows(300)}`;

describe('a file sent from the page', () => {
  it('is shown as it would be read, read in once told to, and then gone from the disk', async () => {
    const { status, body } = await send(log, 'Loft logger.csv');
    expect(status).toBe(201);
    const seen = await settled(body.id);
    expect(seen).toMatchObject({ state: 'checked', name: 'Loft logger.csv', bytes: Buffer.byteLength(log) });
    expect(seen.plan).toMatchObject({
      rows: 300,
      readings: 600,
      rejected: 0,
      intervalSeconds: 600,
      dateOrder: 'ymd',
      zone: { kind: 'dwelling', name: 'Europe/London' },
      columns: ['Time', 'Temp (°F)', 'RH (%)'],
      first: '2025-01-01T00:00:00.000Z',
    });
    const [temperature] = seen.plan.quantities;
    expect(temperature).toMatchObject({ quantity: 'temperature', column: 'Temp (°F)', fileUnit: '°F', unit: '°C' });
    // 69 °F is 20.56 °C
    expect(temperature.max).toBeCloseTo(20.56, 1);
    expect(await sensors()).toEqual([]);
    expect((await run(body.id, 'loft-logger')).body.state).toBe('reading');
    expect((await settled(body.id)).outcome).toEqual({
      sensorKey: 'loft-logger',
      stored: 600,
      repeated: 0,
      conflicting: 0,
    });
    expect((await sensors()).map(({ key }: { key: string }) => key)).toEqual(['loft-logger']);
    expect(left()).toEqual([]);
  });

  it('adds nothing twice', async () => {
    const { id } = (await send(log)).body;
    await settled(id);
    await run(id, 'loft-logger');
    expect((await settled(id)).outcome).toMatchObject({ stored: 0, repeated: 600 });
  });

  it('is looked through again with what the person knows better', async () => {
    const { id } = (await send(log)).body;
    await settled(id);
    await check(id, { temperatureUnit: 'C', zone: '+05:00', humidity: 'RH (%)' });
    const { plan } = await settled(id);
    expect(plan.first).toBe('2024-12-31T19:00:00.000Z');
    // as °C, 68 to 69 is still a temperature, and no home
    const temperature = plan.quantities.find(({ quantity }: { quantity: string }) => quantity === 'temperature');
    expect(temperature.max).toBeCloseTo(69, 1);
    expect((await check(id, { zone: 'Mars/Crater' })).status).toBe(400);
    expect((await check(id, { humidity: 'no such column' })).status).toBe(200);
    expect(await settled(id)).toMatchObject({ state: 'unusable', problem: { code: 'unknown-column' } });
    await check(id, {});
    expect(await settled(id)).toMatchObject({ state: 'checked' });
  });

  it('says which lines are left out, and why', async () => {
    const { id } = (await send(`${log}2025-02-01 00:00:00,warm,50\n2200-01-01 00:00:00,60,50\nrubbish\n`)).body;
    const { plan } = await settled(id);
    expect(plan.rejected).toBe(3);
    expect(plan.rejects.map(({ line }: { line: number }) => line)).toEqual([302, 303, 304]);
    expect(plan.rejects[0].reason).toContain('"warm"');
  });

  it.each([
    ['', 'empty'],
    ['hello\nworld\n', 'no-rows'],
    ['Date,T\n03/04/2025 10:00,20\n', 'ambiguous-dates'],
    ['Time,Door\n2025-01-01 10:00:00,1\n', 'no-quantity'],
  ])('that cannot be used says so without naming the program’s own folders: %j', async (text, code) => {
    const { id } = (await send(text, 'odd.csv')).body;
    const seen = await settled(id);
    expect(seen).toMatchObject({ state: 'unusable', problem: { code } });
    expect(seen.problem.message).toContain('odd.csv');
    expect(JSON.stringify(seen)).not.toContain(server.folder);
    expect((await run(id, 'x')).status).toBe(400);
  });

  it('is of its own home only, and can be forgotten', async () => {
    const { id } = (await send(log)).body;
    expect((await look(id, '/dwellings/other')).status).toBe(404);
    expect((await look('3f2504e0-4f89-41d3-9a0c-0305e82c3301')).status).toBe(404);
    expect((await look('..%2F..%2Fetc')).status).toBe(400);
    expect((await server.operate('removeImport', `${home}/imports/${id}`)).status).toBe(204);
    expect((await look(id)).status).toBe(404);
  });

  it('is refused when it is larger than any log, and when its sensor’s name would be no name', async () => {
    const { id } = (await send(log)).body;
    await settled(id);
    for (const name of ['', 'a b', 'a/b', '+', '#']) expect((await run(id, name)).status).toBe(400);
    const response = await fetch(`${server.coomb.address}/api/v1${home}/imports?name=x`, {
      method: 'POST',
      body: new ReadableStream({
        pull(controller) {
          controller.enqueue(new Uint8Array(8 << 20));
        },
      }),
      duplex: 'half',
    } as RequestInit).catch((error: unknown) => error as Error);
    // the answer may come before the sender is done sending, who then sees a broken connection
    if (response instanceof Response) expect(response.status).toBe(413);
    expect(left().length).toBeLessThanOrEqual(4);
    expect(LARGEST_IMPORT).toBe(256 << 20);
  }, 60_000);

  it('of 50 MB is streamed: readings are acknowledged all the while, and memory stays bounded', async () => {
    // loggers write more columns than are read
    const wide = (from: number): string =>
      rows(20_000, from).replaceAll('\n', `,${'logger 4417 in the loft, channel 2;'.repeat(3)}\n`);
    const parts = ['Time,Temp (°F),RH (%),Remark\n'];
    let count = 0;
    for (let bytes = 0; bytes <= 50 << 20; bytes += parts.at(-1)!.length, count += 20_000) {
      parts.push(wide(Date.UTC(2015, 0, 1) + count * 600_000));
    }
    const big = Buffer.from(parts.join(''));
    expect(big.length).toBeGreaterThan(50 << 20);
    const client = await mqtt.connectAsync(server.coomb.mqttAddress);
    const waits: number[] = [];
    let going = true;
    const publishing = (async () => {
      for (let k = 0; going; k++) {
        const begun = performance.now();
        await client.publishAsync('coomb/mill-cottage/live-1', JSON.stringify({ temperature_c: 18 + (k % 10) / 10 }), {
          qos: 1,
        });
        waits.push(performance.now() - begun);
        await setTimeout(50);
      }
    })();
    const before = process.memoryUsage().rss;
    let most = before;
    const { id } = (await send(big, 'years.csv')).body;
    const seen = await settled(id);
    expect(seen.state).toBe('checked');
    expect(seen.plan.rows + seen.plan.rejected).toBe(count);
    await run(id, 'years');
    for (let state = 'reading'; state === 'reading'; ) {
      state = (await look(id)).body.state;
      most = Math.max(most, process.memoryUsage().rss);
      await setTimeout(100);
    }
    going = false;
    await publishing;
    await client.endAsync();
    const { outcome } = (await look(id)).body;
    expect(outcome.stored).toBeGreaterThan(600_000);
    expect(outcome.stored + outcome.repeated).toBe(seen.plan.readings);
    waits.sort((a, b) => a - b);
    // a sensor's radio gives up after seconds; how fast the most are answered is no matter of a test
    expect(waits.at(-1)!).toBeLessThan(3_000);
    expect((most - before) / (1 << 20)).toBeLessThan(400);
    console.log(
      `50 MB: ${waits.length} acknowledgements, median ${waits[waits.length >> 1]!.toFixed(0)} ms, 95 % ${waits[Math.floor(waits.length * 0.95)]!.toFixed(0)} ms, longest ${waits.at(-1)!.toFixed(0)} ms; memory +${((most - before) / (1 << 20)).toFixed(0)} MiB`,
    );
  }, 300_000);
});
