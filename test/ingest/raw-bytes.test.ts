import { connect } from 'node:net';
import { expect, it, onTestFinished } from 'vitest';
import { brokerOptions, openBroker } from '../../server/ingest/broker.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createWriter } from '../../server/ingest/writer.ts';
import { everyReading, openHome } from './home.ts';
import { connectTo } from './processes.ts';

/** MQTT 3.1.1, 3.1: a CONNECT with a clean session, keep-alive 60 s and the client id `raw`. */
const CONNECT = Buffer.from('101000044d5154540402003c0004726177', 'hex');
CONNECT[1] = CONNECT.length - 2;
const ROUNDS = 400;

/** Numbers that look random and are the same in every run (xorshift32). */
function bytesFrom(seed: number): () => number {
  let state = seed;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return state & 0xff;
  };
}

/** Sends bytes and resolves when the broker has hung up; or, where one does not wait for that, after a while. */
const sendRaw = (port: number, bytes: Buffer, patienceMs: number | null = null): Promise<'dropped' | 'open'> =>
  new Promise((resolve) => {
    const socket = connect(port, '127.0.0.1', () => socket.write(bytes));
    const end = (how: 'dropped' | 'open') => {
      clearTimeout(timer);
      socket.destroy();
      resolve(how);
    };
    const timer = patienceMs === null ? undefined : setTimeout(() => end('open'), patienceMs);
    socket.on('error', () => {});
    socket.on('data', () => {});
    socket.on('close', () => end('dropped'));
  });

it('malformed packets from a raw socket: their sender is dropped, the broker stays up for the others, and memory stays flat', async () => {
  const home = await openHome();
  onTestFinished(() => home.close());
  const receiver = createReceiver(home.store, createWriter(home.store), Date.now);
  const broker = await openBroker(receiver, { ...brokerOptions, port: 0 });
  onTestFinished(() => broker.close());
  const steady = await connectTo(broker.port);
  const random = bytesFrom(20_260_105);
  const noise = (length: number) => Buffer.from(Array.from({ length }, random));
  const hurl = async (rounds: number): Promise<void> => {
    for (let round = 0; round < rounds; round += 20) {
      await Promise.all(
        Array.from({ length: 20 }, (_, k) =>
          sendRaw(
            broker.port,
            k % 2 === 0 ? noise(1 + random() * 8) : Buffer.concat([CONNECT, noise(1 + random() * 8)]),
            100,
          ),
        ),
      );
    }
  };
  await hurl(ROUNDS / 2);
  const before = process.memoryUsage.rss();
  await hurl(ROUNDS);
  // room set aside for every packet that was announced, up to 16 MiB each, would be far more
  expect(process.memoryUsage.rss() - before).toBeLessThan(64 << 20);
  // MQTT 3.1.1, 2.2.2 (reserved flags) and 2.2.3 (remaining length of five bytes): the connection must be closed
  for (const malformed of ['3e00', '30ffffffffff', '0000', 'f000']) {
    expect(await sendRaw(broker.port, Buffer.concat([CONNECT, Buffer.from(malformed, 'hex')])), malformed).toBe(
      'dropped',
    );
  }
  await steady.publishAsync('coomb/gable-cottage/a', '{"time": "2026-01-05T00:00:00Z", "temperature_c": 20}', {
    qos: 1,
  });
  const kept = await everyReading(home.store, home.dwellingId);
  expect(kept.filter(([key]) => key === 'a')).toHaveLength(1);
  await steady.endAsync();
}, 60_000);
