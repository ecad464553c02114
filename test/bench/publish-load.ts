/**
 * Publishes readings at QoS 1 as fast as a broker takes them, in a process of its own and with packets written by hand
 * beforehand, so that the client is not what is timed. argv: port, messages, connections, time of the first readings in UTC ms. Prints
 * `ready`, begins at a line on its input, and prints `done` when every message is acknowledged.
 */
import { connect, type Socket } from 'node:net';
import { hello, publication } from './packets.ts';

const IN_FLIGHT = 200;
const [port, messages, connections, first] = process.argv.slice(2).map(Number) as [number, number, number, number];

function reading(connection: number, n: number): Buffer {
  const wave = Math.sin(n / 700 + connection);
  const payload = `{"time":${first + n * 1000},"temperature_c":${(12 + 5 * wave).toFixed(2)},"humidity_pct":${(65 - 12 * wave).toFixed(1)}}`;
  return publication(n, `coomb/bench/sensor-${connection}`, payload);
}

async function open(connection: number): Promise<Socket> {
  const socket = connect(port, '127.0.0.1');
  socket.setNoDelay(true);
  socket.write(hello(`load-${process.pid}-${connection}`));
  await new Promise<void>((resolve) => socket.once('data', () => resolve()));
  return socket;
}

/** A PUBACK of MQTT 3.1.1 has four bytes, and nothing else comes back. */
function publishAll(socket: Socket, packets: readonly Buffer[]): Promise<void> {
  const count = packets.length;
  let sent = 0;
  let bytes = 0;
  return new Promise((resolve, reject) => {
    const send = (): void => {
      const upTo = Math.min(count, Math.floor(bytes / 4) + IN_FLIGHT);
      if (sent === upTo) return;
      socket.write(Buffer.concat(packets.slice(sent, upTo)));
      sent = upTo;
    };
    socket.on('data', (chunk: Buffer) => {
      bytes += chunk.length;
      if (bytes === count * 4) resolve();
      else send();
    });
    socket.once('close', () => reject(new Error('the broker hung up')));
    send();
  });
}

const loads = await Promise.all(
  Array.from({ length: connections }, async (_, connection) => {
    const packets = Array.from({ length: messages / connections }, (_, n) => reading(connection, n));
    return { socket: await open(connection), packets };
  }),
);
process.stdin.once('data', () => {
  Promise.all(loads.map(({ socket, packets }) => publishAll(socket, packets))).then(() => {
    console.log('done');
    process.exit(0);
  });
});
console.log('ready');
