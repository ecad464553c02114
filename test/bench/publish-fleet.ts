/**
 * Publishes what the sensors of many homes say, at QoS 1 and each at its time, in a process of its own and with packets
 * written by hand. argv: a {@link FleetLoad} as JSON. Prints `done` and by how much it was late at the worst, ms, when
 * every message is acknowledged.
 */
import { connect, type Socket } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { type FleetLoad, fleetMessage } from './fleet-load.ts';
import { hello, publication } from './packets.ts';
import { valuesAt } from './running.ts';

const CONNECTIONS = 20;
/** Messages that are due are looked for so often, ms. */
const TICK_MS = 5;

const load = JSON.parse(process.argv[2]!) as FleetLoad;

async function open(connection: number): Promise<Socket> {
  const socket = connect(load.port, '127.0.0.1');
  socket.setNoDelay(true);
  socket.write(hello(`fleet-${process.pid}-${connection}`));
  await new Promise<void>((resolve) => socket.once('data', () => resolve()));
  return socket;
}

const sockets = await Promise.all(Array.from({ length: CONNECTIONS }, (_, connection) => open(connection)));
let acknowledged = 0;
for (const socket of sockets) {
  // a PUBACK of MQTT 3.1.1 has four bytes, and nothing else comes back
  socket.on('data', (chunk: Buffer) => {
    acknowledged += chunk.length / 4;
  });
  socket.once('close', () => {
    throw new Error('the broker hung up');
  });
}

let latest = 0;
for (let n = load.from; n < load.to; ) {
  const now = Date.now();
  const packets: Buffer[][] = sockets.map(() => []);
  for (let message = fleetMessage(load, n); n < load.to && message.due <= now; message = fleetMessage(load, n)) {
    const { temperature, humidity } = valuesAt(message.time, message.sensor, false);
    const topic = `coomb/home-${message.home}/sensor-${message.sensor}`;
    const payload = `{"time":${message.time},"temperature_c":${temperature},"humidity_pct":${humidity}}`;
    packets[n % CONNECTIONS]!.push(publication(Math.floor(n / CONNECTIONS), topic, payload));
    latest = Math.max(latest, now - message.due);
    n++;
  }
  for (const [k, own] of packets.entries()) if (own.length > 0) sockets[k]!.write(Buffer.concat(own));
  await pause(TICK_MS);
}
while (acknowledged < load.to - load.from) await pause(TICK_MS);
console.log(`done ${Math.round(latest)}`);
process.exit(0);
