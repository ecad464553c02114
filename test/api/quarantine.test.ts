import { afterAll, beforeAll, expect, it } from 'vitest';
import { givenHome, startServer, type TestServer } from './server.ts';

const NOW = Date.UTC(2026, 0, 14, 22, 10);
let server: TestServer;
beforeAll(async () => {
  server = await startServer(() => NOW);
  await givenHome(server);
});
afterAll(() => server.close());

it('an owner throws away what was never understood; readings stay, and it is on the trail', async () => {
  const send = (body: string) =>
    server.operate('sendReadings', '/dwellings/mill-cottage/readings/a', { bytes: Buffer.from(body) });
  for (let n = 0; n < 3; n++) expect((await send(`rubbish ${n}`)).status).toBe(422);
  expect((await send('{"temperature_c": 12.5}')).status).toBe(200);
  // more than are removed in one transaction, and what was not kept of a flood
  await server.coomb.store.append({
    receivedAt: NOW,
    readings: [],
    quarantined: Array.from({ length: 2500 }, (_, n) => ({
      receivedAt: NOW,
      source: 'mqtt',
      topic: `attic/${n % 7}`,
      payload: Buffer.from('x'),
      code: 'unknown-topic',
      message: 'nobody knows it',
    })),
    notKept: [{ sender: 'attic', messages: 40, firstAt: NOW - 1000, lastAt: NOW }],
  });
  const before = (await server.operate('listQuarantine', '/quarantine')).body;
  expect(before.total).toBe(2503);
  expect(before.notKept).toEqual([
    { sender: 'attic', messages: 40, firstAt: '2026-01-14T22:09:59.000Z', lastAt: '2026-01-14T22:10:00.000Z' },
  ]);
  expect((await server.operate('emptyQuarantine', '/quarantine')).body).toEqual({ removed: 2503 });
  expect((await server.operate('listQuarantine', '/quarantine')).body).toEqual({ total: 0, groups: [], notKept: [] });
  expect(await server.coomb.store.countReadings(1)).toBe(1);
  const trail = (await server.operate('listTrail', '/access/trail')).body as { action: string }[];
  expect(trail[0]).toMatchObject({ action: 'emptyQuarantine' });
});
