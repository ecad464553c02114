import { createHash, timingSafeEqual } from 'node:crypto';
import { type AddressInfo, createServer, type Socket } from 'node:net';
import { Aedes, type AuthenticateError, type Client } from 'aedes';
import { type Log, silent } from './log.ts';
import { oversized } from './packet-size.ts';
import type { Receiver } from './receiver.ts';

/** What a device signs in with. */
export interface Account {
  readonly username: string;
  readonly password: string;
}

export interface BrokerOptions {
  /** address to listen on; anything but loopback needs accounts */
  readonly host: string;
  /** 0: one the system picks */
  readonly port: number;
  /** who may connect; empty: anyone who can reach the address */
  readonly accounts: readonly Account[];
  /** a connection that announces a larger packet is closed */
  readonly maxPacketBytes: number;
  readonly maxConnections: number;
}

/**
 * Packets of up to 16 MiB are taken in whole, so that a payload too large to be read is still kept in quarantine.
 */
export const brokerOptions: BrokerOptions = Object.freeze({
  host: '127.0.0.1',
  port: 1883,
  accounts: [],
  maxPacketBytes: 16 << 20,
  maxConnections: 1000,
});

export interface BrokerState {
  readonly host: string;
  readonly port: number;
  readonly clients: number;
  readonly lastError: string | null;
  /** connections closed over a malformed or oversized packet, or because what they sent could not be stored */
  readonly closedOnError: number;
}

export interface Broker {
  readonly port: number;
  state(): BrokerState;
  close(): Promise<void>;
}

const BAD_USERNAME_OR_PASSWORD = 4;
const isLoopback = (host: string): boolean =>
  host === 'localhost' || host === '::1' || /^127\.\d+\.\d+\.\d+$/.test(host);

/**
 * Opens the embedded MQTT 3.1.1 broker. A message is acknowledged once the receiver has it on disk; until then its
 * connection is read no further, which is all the back-pressure a device needs.
 *
 * The broker is there to take readings in. It passes messages on to whoever listens, at QoS 0, and keeps neither
 * retained messages nor queues for absent listeners: both would grow in memory for as long as it runs.
 *
 * @throws RangeError when the host is not loopback and there are no accounts
 */
export async function openBroker(receiver: Receiver, options: BrokerOptions, log: Log = silent): Promise<Broker> {
  const { host, port, accounts, maxPacketBytes } = options;
  if (!isLoopback(host) && accounts.length === 0) {
    throw new RangeError(
      `the MQTT broker's host is ${host} and there are no device accounts; add an account, or listen on a loopback address (127.0.0.1)`,
    );
  }
  let lastError: string | null = null;
  let closedOnError = 0;

  const aedes = await Aedes.createBroker({
    queueLimit: 1000,
    authenticate: (_client, username, password, done) => {
      if (accounts.length === 0 || signsIn(accounts, username, password)) {
        done(null, true);
        return;
      }
      const error = Object.assign(new Error('wrong user name or password'), {
        returnCode: BAD_USERNAME_OR_PASSWORD,
      }) as AuthenticateError;
      log.warn({ username }, 'a device was refused: wrong user name or password');
      done(error, false);
    },
    authorizeSubscribe: (_client, subscription, done) => {
      // in place: aedes would keep a queue in memory for the QoS that was asked for
      subscription.qos = 0;
      done(null, subscription);
    },
    authorizePublish: (_client, packet, done) => {
      if (packet.topic.startsWith('$')) {
        done(new Error('topics that begin with $ belong to the broker'));
        return;
      }
      packet.retain = false;
      const payload = typeof packet.payload === 'string' ? Buffer.from(packet.payload) : packet.payload;
      receiver.receive('mqtt', packet.topic, payload).then(
        () => done(null),
        (error: unknown) => done(error instanceof Error ? error : new Error(String(error))),
      );
    },
  });

  const told = (client: Client, error: Error): void => {
    closedOnError++;
    lastError = error.message;
    log.warn({ client: client.id ?? null, error: error.message }, 'a connection to the broker was closed');
  };
  aedes.on('clientError', told);
  aedes.on('connectionError', told);

  const sockets = new Set<Socket>();
  const server = createServer((socket: Socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
    socket.setNoDelay(true);
    const client = aedes.handle(socket);
    socket.on('readable', () => {
      if (!oversized(client, maxPacketBytes)) return;
      told(client, new Error(`a packet of more than ${maxPacketBytes} bytes was announced; send smaller messages`));
      socket.destroy();
    });
  });
  server.maxConnections = options.maxConnections;
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, host, () => {
      server.off('error', reject);
      resolve();
    });
  });
  server.on('error', (error) => {
    lastError = error.message;
    log.warn({ error }, 'the MQTT broker has a problem with its socket');
  });
  const bound = (server.address() as AddressInfo).port;

  return {
    port: bound,
    state: () => ({ host, port: bound, clients: aedes.connectedClients, lastError, closedOnError }),
    async close() {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      await new Promise<void>((resolve) => aedes.close(() => resolve()));
      for (const socket of sockets) socket.destroy();
      await closed;
    },
  };
}

const digest = (text: string | Uint8Array): Uint8Array => createHash('sha256').update(text).digest();

/** Compares every account in full, so that the time taken tells nothing. */
function signsIn(
  accounts: readonly Account[],
  username: string | undefined,
  password: Uint8Array | undefined,
): boolean {
  if (username === undefined || password === undefined) return false;
  const name = digest(username);
  const secret = digest(password);
  let found = false;
  for (const account of accounts) {
    const nameFits = timingSafeEqual(digest(account.username), name);
    const secretFits = timingSafeEqual(digest(account.password), secret);
    found = (nameFits && secretFits) || found;
  }
  return found;
}
