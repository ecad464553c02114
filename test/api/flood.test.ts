import { connect } from 'node:net';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { givenHome, startServer, type TestServer } from './server.ts';

let server: TestServer;
beforeAll(async () => {
  server = await startServer();
  await givenHome(server);
});
afterAll(() => server.close());

const text = (words: string): Buffer =>
  Buffer.concat([Buffer.from([words.length >> 8, words.length & 255]), Buffer.from(words)]);
const packet = (type: number, ...parts: Buffer[]): Buffer => {
  const rest = Buffer.concat(parts);
  return Buffer.concat([Buffer.from([type, rest.length]), rest]);
};

it('a device that sends without end is said on /healthz, and the others go on', async () => {
  const { port } = new URL(server.coomb.mqttAddress);
  const socket = connect(Number(port), '127.0.0.1');
  socket.on('error', () => undefined);
  // MQTT 3.1.1, 3.1 and 3.3: CONNECT as "runaway", then the same reading at QoS 0 again and again
  socket.write(packet(0x10, text('MQTT'), Buffer.from([4, 2, 0, 0]), text('runaway')));
  await new Promise((resolve) => socket.once('data', resolve));
  const reading = packet(0x30, text('coomb/mill-cottage/r'), Buffer.from('{"time":1767225600,"temperature_c":9}'));
  const thousand = Buffer.concat(Array.from({ length: 1000 }, () => reading));
  // without end: how fast they are taken is the machine's, and what may come at once runs out at a thousand a second
  let sending = true;
  const send = (): void => {
    socket.write(thousand, (error) => {
      if (sending && !error) setImmediate(send);
    });
  };
  send();
  const health = async () =>
    (await (await fetch(`${server.coomb.address}/healthz`)).json()) as { status: string; reasons: string[] };
  await expect.poll(async () => (await health()).reasons.join(), { timeout: 60_000 }).toContain('are slowed: runaway');
  sending = false;
  expect((await health()).status).toBe('degraded');
  expect((await fetch(`${server.coomb.address}/readyz`)).status).toBe(200);
  const sent = await server.operate('sendReadings', '/dwellings/mill-cottage/readings/other', {
    json: { temperature_c: 9 },
  });
  expect(sent.status).toBe(200);
  socket.destroy();
}, 90_000);
