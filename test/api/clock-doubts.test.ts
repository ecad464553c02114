import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { everyReading } from '../ingest/home.ts';
import { givenHome, startServer, type TestServer } from './server.ts';

const HOUR = 3_600_000;
const NOON = Date.UTC(2026, 0, 14, 12);
const BACK = NOON - 5 * HOUR;

let now: number;
let server: TestServer;
beforeAll(async () => {
  now = BACK;
  server = await startServer(() => now);
  await givenHome(server);
}, 60_000);
afterAll(() => server.close());

const send = (sensor: string, json: unknown) =>
  server.operate('sendReadings', `/dwellings/mill-cottage/readings/${sensor}`, { json });
const doubts = async () => (await server.operate('listClockDoubts', '/quarantine/clock-doubts')).body;
const settle = (json: unknown) => server.operate('settleClockDoubt', '/quarantine/clock-doubts', { json });
const times = async (sensor: string): Promise<number[]> =>
  (await everyReading(server.coomb.store, 1)).filter(([key]) => key === sensor).map(([, , time]) => time);
const topic = (sensor: string): string => `coomb/mill-cottage/${sensor}`;

it('after a boot with the right clock, what came by the wrong one is offered with the error of the clock', async () => {
  for (const minute of [0, 5]) {
    now = BACK + minute * 60_000;
    await send('loft', { time: NOON + minute * 60_000, temperature_c: 3 });
    await send('eaves', { time: NOON + minute * 60_000 - 2000, temperature_c: 4 });
    await send('local', { time: NOON + HOUR + minute * 60_000, temperature_c: 5 });
  }
  await send('loft', [{ time: NOON - 3 * HOUR, temperature_c: 2 }]);
  // a clock that is never to be believed
  await send('lost', { time: NOON + 400 * 24 * HOUR, temperature_c: 6 });
  expect(await server.coomb.store.countQuarantined()).toBe(8);

  // another boot: nothing is remembered of the clock
  const memory = join(server.folder, 'clock-stretches.json');
  writeFileSync(memory, JSON.stringify({ ...JSON.parse(readFileSync(memory, 'utf8')), boot: 'another' }));
  now = NOON + 3 * HOUR;
  await server.restart();
  await server.coomb.clockSeen();
  expect(await server.coomb.store.countReadings(1)).toBe(0);
  expect(await doubts()).toEqual([
    {
      from: new Date(BACK).toISOString(),
      to: new Date(BACK + 300_000).toISOString(),
      behindMs: 5 * HOUR,
      topics: [topic('eaves'), topic('loft')],
      messages: 5,
    },
    {
      from: new Date(BACK).toISOString(),
      to: new Date(BACK + 300_000).toISOString(),
      behindMs: 6 * HOUR,
      topics: [topic('local')],
      messages: 2,
    },
  ]);
}, 60_000);

it('only what was offered can be read in', async () => {
  const [first] = await doubts();
  const { from, to, behindMs } = first;
  expect((await settle({ from, to, behindMs: behindMs + 1 })).status).toBe(404);
  expect((await settle({ from, to: from, behindMs })).status).toBe(404);
  expect((await settle({ from, to })).status).toBe(400);
  expect(await server.coomb.store.countReadings(1)).toBe(0);
});

it('the owner says that it was the clock of the computer; what was ahead by more stays, and it is on the trail', async () => {
  const [{ from, to, behindMs }] = await doubts();
  const { body } = await settle({ from, to, behindMs });
  expect(body).toEqual({ messages: 5, readings: 5, left: 0 });
  expect(await times('loft')).toEqual([NOON - 3 * HOUR, NOON, NOON + 300_000]);
  expect(await times('eaves')).toEqual([NOON - 2000, NOON + 298_000]);
  expect(await times('local')).toEqual([]);
  expect(await times('lost')).toEqual([]);
  expect(await server.coomb.store.countQuarantined()).toBe(3);
  // once
  expect((await settle({ from, to, behindMs })).status).toBe(404);
  expect((await doubts()).map(({ topics }: { topics: string[] }) => topics)).toEqual([[topic('local')]]);
  const [entry] = (await server.operate('listTrail', '/access/trail')).body;
  expect(entry).toMatchObject({ action: 'settleClockDoubt', detail: { from, to, behindMs } });
});
