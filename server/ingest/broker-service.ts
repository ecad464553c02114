import { type AddressInfo, createServer, type Socket } from 'node:net';
import { createServer as createTlsServer } from 'node:tls';
import type { AuthenticateError, Client } from 'aedes';
import { STATE_ROOT } from '../analysis/delivery-vocabulary.ts';
import { type Account, allows } from './account.ts';
import { createFlowMeter, type FlowLimit, type FlowMeter } from './flow-limit.ts';
import type { Settled } from './handing.ts';
import { ListenedBroker } from './listened-broker.ts';
import type { Log } from './log.ts';
import { oversized } from './packet-size.ts';
import type { BrokerEvent, SignedIn } from './thread-words.ts';

export interface ServiceOptions {
  /** address to listen on; anything but loopback needs accounts */
  readonly host: string;
  /** 0: one the system picks */
  readonly port: number;
  /** certificate chain and key in PEM; null: plain */
  readonly tls: { readonly cert: string; readonly key: string } | null;
  /** a connection that announces a larger packet is closed */
  readonly maxPacketBytes: number;
  readonly maxConnections: number;
  /** of one account, so that one device cannot take the connections of all */
  readonly maxConnectionsEach: number;
  /** what an account, or a connection without one, may send; null: as much as can be stored */
  readonly flow: FlowLimit | null;
}

/** The program behind the broker. */
export interface Program {
  signIn(username: string | undefined, password: Uint8Array | undefined): Promise<SignedIn>;
  take(topic: string, payload: Uint8Array, settled: Settled): void;
  happened(event: BrokerEvent): void;
}

export interface Service {
  readonly port: number;
  /** Closes connections of accounts other than these; none: there are no accounts, and nothing is closed. */
  expelUnknown(usernames: ReadonlySet<string>): void;
  publish(topic: string, payload: string): void;
  close(): Promise<void>;
}

/** MQTT 3.1.1, 3.2.2.3 */
const IDENTIFIER_REJECTED = 2;
const SERVER_UNAVAILABLE = 3;
const BAD_USERNAME_OR_PASSWORD = 4;
const MINUTE_MS = 60_000;
/** Who would have to wait longer is closed, ms: it sends from many connections at once. */
const LONGEST_WAIT_MS = 60_000;
/**
 * Serves MQTT 3.1.1 for a program that stores what comes. It passes messages on to whoever listens, at QoS 0, and keeps
 * neither retained messages of devices nor queues for absent listeners: both would grow in memory for as long as it runs.
 */
export async function openService(program: Program, options: ServiceOptions, log: Log): Promise<Service> {
  const { host, port, maxPacketBytes } = options;

  /** the connections there are; null: there were no accounts when it came */
  const connected = new Map<Client, Account | null>();
  /** the same for as long as aedes has anything to do for one: its will is published after it went */
  const accountOf = new WeakMap<Client, Account | null>();
  /** connections that have subscribed to anything */
  const listeners = new Set<Client>();
  const mayPublish = (client: Client | null, topic: string): boolean => {
    if (client === null) return true;
    const account = accountOf.get(client);
    return account === null || (account !== undefined && allows(account.publishes, topic));
  };

  const meters = new Map<string | Client, FlowMeter>();
  const slowed = new Map<string, number>();
  let turnedAwayAt = Number.NEGATIVE_INFINITY;
  let closing = false;
  const recently = (at: number): boolean => performance.now() - at < MINUTE_MS;

  /** How long a message must wait, ms. */
  function waitOf(client: Client | null, bytes: number): number {
    if (options.flow === null || client === null) return 0;
    const account = accountOf.get(client);
    const key = account?.username ?? client;
    let meter = meters.get(key);
    if (meter === undefined) {
      meter = createFlowMeter(options.flow);
      meters.set(key, meter);
    }
    const wait = meter.take(bytes);
    if (wait > 0) noteSlowed((account?.username ?? client.id).slice(0, 100));
    return wait;
  }

  function noteSlowed(name: string): void {
    const told = slowed.get(name);
    if (told !== undefined && recently(told)) return;
    for (const [one, at] of slowed) if (!recently(at)) slowed.delete(one);
    slowed.set(name, performance.now());
    program.happened({ kind: 'slowed', name });
    log.warn({ client: name }, 'a device sends more than is taken from one; it is slowed, and nothing is lost');
  }

  function noteTurnedAway(detail: object): void {
    if (!recently(turnedAwayAt)) {
      log.warn(detail, 'a connection to the broker was turned away: there are as many as may be');
    }
    turnedAwayAt = performance.now();
    program.happened({ kind: 'turned-away' });
  }

  function takeLater(waitMs: number, client: Client | null, topic: string, payload: Uint8Array, done: Settled): void {
    setTimeout(() => {
      // not acknowledged: whoever it is sends it again
      if (closing || client?.closed) done(new Error('the connection is over'));
      else program.take(topic, payload, done);
    }, waitMs).unref();
  }

  const connectionsOf = (username: string): number => {
    let count = 0;
    for (const one of connected.values()) if (one?.username === username) count++;
    return count;
  };
  const isTaken = (id: string, { username }: Account): boolean =>
    [...connected].some(([one, account]) => one.id === id && account !== null && account.username !== username);
  const refusal = (returnCode: number, message: string): AuthenticateError =>
    Object.assign(new Error(message), { returnCode }) as AuthenticateError;

  const aedes = new ListenedBroker(() => listeners.size > 0, {
    queueLimit: 1000,
    authenticate: async (client, username, password, done) => {
      const signedIn = await program.signIn(username, password);
      if (client.closed) {
        done(refusal(SERVER_UNAVAILABLE, 'the connection is over'), false);
        return;
      }
      if (signedIn === 'refused') {
        log.warn({ username }, 'a device was refused: wrong user name or password');
        done(refusal(BAD_USERNAME_OR_PASSWORD, 'wrong user name or password'), false);
        return;
      }
      const account = signedIn === 'anyone' ? null : signedIn.account;
      if (account !== null && connectionsOf(account.username) >= options.maxConnectionsEach) {
        noteTurnedAway({ username: account.username });
        done(refusal(SERVER_UNAVAILABLE, 'this account has as many connections as it may'), false);
        return;
      }
      // a second connection under an id ends the first (MQTT 3.1.1, 3.1.4): not that of somebody else
      if (account !== null && isTaken(client.id, account)) {
        log.warn({ username: account.username, client: client.id }, 'a device was refused: another has its client id');
        done(refusal(IDENTIFIER_REJECTED, 'another account is connected under this client id'), false);
        return;
      }
      connected.set(client, account);
      accountOf.set(client, account);
      done(null, true);
    },
    authorizeSubscribe: (client, subscription, done) => {
      const account = client && accountOf.get(client);
      if (account && !allows(account.listens, subscription.topic)) {
        log.warn({ username: account.username, topic: subscription.topic }, 'a subscription was refused');
        done(null, null);
        return;
      }
      // in place: aedes would keep a queue in memory for the QoS that was asked for
      subscription.qos = 0;
      if (client) listeners.add(client);
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
      const wait = waitOf(client, payload.length);
      if (wait === 0) program.take(packet.topic, payload, done);
      else if (wait > LONGEST_WAIT_MS) done(new Error('this device sends far more than is taken from one'));
      else takeLater(wait, client, packet.topic, payload, done);
    },
  });
  await aedes.listen();

  const told = (client: Client, error: Error): void => {
    program.happened({ kind: 'closed-on-error', error: error.message });
    log.warn({ client: client.id ?? null, error: error.message }, 'a connection to the broker was closed');
  };
  const tellClients = (): void => program.happened({ kind: 'clients', count: aedes.connectedClients });
  aedes.on('client', tellClients);
  aedes.on('clientDisconnect', tellClients);
  aedes.on('clientError', told);
  aedes.on('connectionError', told);

  const sockets = new Set<Socket>();
  const serve = (socket: Socket): void => {
    sockets.add(socket);
    socket.setNoDelay(true);
    const client = aedes.handle(socket);
    socket.once('close', () => {
      sockets.delete(socket);
      connected.delete(client);
      listeners.delete(client);
      meters.delete(client);
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
  server.on('drop', (connection) => noteTurnedAway({ address: connection?.remoteAddress ?? null }));
  server.on('error', (error) => {
    program.happened({ kind: 'socket-trouble', error: error.message });
    log.warn({ error }, 'the MQTT broker has a problem with its socket');
  });
  const bound = (server.address() as AddressInfo).port;

  return {
    port: bound,
    expelUnknown(usernames) {
      if (usernames.size === 0) return;
      for (const [client, account] of connected) {
        if (account === null || !usernames.has(account.username)) client.close();
      }
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
      closing = true;
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      await new Promise<void>((resolve) => aedes.close(() => resolve()));
      for (const socket of sockets) socket.destroy();
      await closed;
    },
  };
}
