import { type AddressInfo, createServer, type Socket } from 'node:net';
import { createServer as createTlsServer } from 'node:tls';
import { Aedes, type AuthenticateError, type Client } from 'aedes';
import { STATE_ROOT } from '../analysis/delivery-vocabulary.ts';
import { type Account, allows, signIn } from './account.ts';
import { type Log, silent } from './log.ts';
import { oversized } from './packet-size.ts';
import type { Receiver } from './receiver.ts';

export interface BrokerOptions {
  /** address to listen on; anything but loopback needs accounts */
  readonly host: string;
  /** 0: one the system picks */
  readonly port: number;
  /** who may connect, asked at every connection; nobody: anyone who can reach the address */
  readonly accounts: () => readonly Account[];
  /** certificate chain and key in PEM; null: plain */
  readonly tls: { readonly cert: string; readonly key: string } | null;
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
  accounts: () => [],
  tls: null,
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
  /** Closes connections whose account is there no more. */
  expelUnknown(): void;
  /** Keeps a retained message of ours for whoever listens; an empty one takes it away. */
  publish(topic: string, payload: string): void;
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
 * retained messages of devices nor queues for absent listeners: both would grow in memory for as long as it runs.
 *
 * @throws RangeError when the host is not loopback and there are no accounts
 */
export async function openBroker(receiver: Receiver, options: BrokerOptions, log: Log = silent): Promise<Broker> {
  const { host, port, accounts, maxPacketBytes } = options;
  if (!isLoopback(host) && accounts().length === 0) {
    throw new RangeError(
      `the MQTT broker's host is ${host} and there are no device accounts; add an account, or listen on a loopback address (127.0.0.1)`,
    );
  }
  let lastError: string | null = null;
  let closedOnError = 0;

  /** by connection; absent: there were no accounts when it came */
  const signedIn = new Map<Client, Account>();
  const mayPublish = (client: Client | null, topic: string): boolean => {
    const account = client && signedIn.get(client);
    return !account || allows(account.publishes, topic);
  };

  const aedes = await Aedes.createBroker({
    queueLimit: 1000,
    authenticate: (client, username, password, done) => {
      const known = accounts();
      const account = signIn(known, username, password);
      if (known.length === 0 || account !== null) {
        if (account !== null) signedIn.set(client, account);
        done(null, true);
        return;
      }
      const error = Object.assign(new Error('wrong user name or password'), {
        returnCode: BAD_USERNAME_OR_PASSWORD,
      }) as AuthenticateError;
      log.warn({ username }, 'a device was refused: wrong user name or password');
      done(error, false);
    },
    authorizeSubscribe: (client, subscription, done) => {
      const account = client && signedIn.get(client);
      if (account && !allows(account.listens, subscription.topic)) {
        log.warn({ username: account.username, topic: subscription.topic }, 'a subscription was refused');
        done(null, null);
        return;
      }
      // in place: aedes would keep a queue in memory for the QoS that was asked for
      subscription.qos = 0;
      done(null, subscription);
    },
    authorizePublish: (client, packet, done) => {
      if (!mayPublish(client, packet.topic)) {
        done(new Error(`this account may not publish to ${packet.topic}`));
        return;
      }
      if (packet.topic.startsWith('$')) {
        done(new Error('topics that begin with $ belong to the broker'));
        return;
      }
      if (packet.topic.startsWith(`${STATE_ROOT}/`)) {
        done(new Error(`topics below ${STATE_ROOT} say what coomb found; devices listen there`));
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
  const serve = (socket: Socket): void => {
    sockets.add(socket);
    socket.setNoDelay(true);
    const client = aedes.handle(socket);
    socket.once('close', () => {
      sockets.delete(socket);
      signedIn.delete(client);
    });
    socket.on('readable', () => {
      if (!oversized(client, maxPacketBytes)) return;
      told(client, new Error(`a packet of more than ${maxPacketBytes} bytes was announced; send smaller messages`));
      socket.destroy();
    });
  };
  const server = options.tls === null ? createServer(serve) : createTlsServer(options.tls, serve);
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
    expelUnknown() {
      const known = new Set(accounts().map(({ username }) => username));
      for (const [client, { username }] of signedIn) if (!known.has(username)) client.close();
    },
    publish(topic, payload) {
      const packet = {
        cmd: 'publish',
        qos: 0,
        dup: false,
        retain: true,
        topic,
        payload: Buffer.from(payload),
      } as const;
      aedes.publish(packet, (error) => {
        if (error) log.warn({ topic, error: error.message }, 'a state could not be published');
      });
    },
    async close() {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      await new Promise<void>((resolve) => aedes.close(() => resolve()));
      for (const socket of sockets) socket.destroy();
      await closed;
    },
  };
}
