import { type Account, signIn } from './account.ts';
import type { ServiceOptions } from './broker-service.ts';
import { createTaker } from './handing.ts';
import { type Log, silent } from './log.ts';
import type { Intake } from './receiver.ts';
import { startThread } from './thread.ts';
import type { FromBroker, SignedIn, ToBroker } from './thread-words.ts';

export interface BrokerOptions extends ServiceOptions {
  /** who may connect, asked at every connection; nobody: anyone who can reach the address */
  readonly accounts: () => readonly Account[];
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
  maxConnectionsEach: 100,
  flow: null,
});

export interface BrokerState {
  readonly host: string;
  readonly port: number;
  readonly clients: number;
  readonly lastError: string | null;
  /** connections closed over a malformed or oversized packet, or because what they sent could not be stored */
  readonly closedOnError: number;
  /** who sent too much within the last minute and was slowed: user names, else client ids */
  readonly slowed: readonly string[];
  /** a connection was turned away within the last minute, because there were as many as may be */
  readonly full: boolean;
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

const MINUTE_MS = 60_000;
const isLoopback = (host: string): boolean =>
  host === 'localhost' || host === '::1' || /^127\.\d+\.\d+\.\d+$/.test(host);

/**
 * Opens the embedded MQTT 3.1.1 broker in a thread of its own, so that connections are served while this one reads and
 * stores, and the other way round. A message is acknowledged once the receiver has it on disk; until then its connection is
 * read no further, which is all the back-pressure a device needs.
 *
 * @throws RangeError when the host is not loopback and there are no accounts
 */
export async function openBroker(
  receiver: Pick<Intake, 'receiveAll'>,
  { accounts, ...options }: BrokerOptions,
  log: Log = silent,
): Promise<Broker> {
  const { host } = options;
  if (!isLoopback(host) && accounts().length === 0) {
    throw new RangeError(
      `the MQTT broker's host is ${host} and there are no device accounts; add an account, or listen on a loopback address (127.0.0.1)`,
    );
  }
  let clients = 0;
  let lastError: string | null = null;
  let closedOnError = 0;
  const slowed = new Map<string, number>();
  let turnedAwayAt = Number.NEGATIVE_INFINITY;
  const recently = (at: number): boolean => performance.now() - at < MINUTE_MS;

  const thread = startThread('broker-thread', options);
  const say = (word: ToBroker): void => thread.postMessage(word);
  const ended = new Promise<void>((resolve) => thread.once('exit', () => resolve()));

  function signedIn(username: string | undefined, password: Uint8Array | undefined): SignedIn {
    const known = accounts();
    const account = signIn(known, username, password);
    if (account !== null) return { account };
    return known.length === 0 ? 'anyone' : 'refused';
  }

  const take = createTaker(receiver, say);

  function hear(word: FromBroker): void {
    switch (word.kind) {
      case 'messages':
        take(word);
        return;
      case 'sign-in':
        say({ kind: 'signed-in', ask: word.ask, as: signedIn(word.username, word.password) });
        return;
      case 'log':
        log[word.level](word.detail, word.message);
        return;
      case 'clients':
        clients = word.count;
        return;
      case 'closed-on-error':
        closedOnError++;
        lastError = word.error;
        return;
      case 'socket-trouble':
        lastError = word.error;
        return;
      case 'slowed':
        for (const [one, at] of slowed) if (!recently(at)) slowed.delete(one);
        slowed.set(word.name, performance.now());
        return;
      case 'turned-away':
        turnedAwayAt = performance.now();
        return;
    }
  }

  const port = await new Promise<number>((resolve, reject) => {
    thread.on('message', (word: FromBroker) => {
      if (word.kind === 'listening') resolve(word.port);
      else if (word.kind === 'not-listening') reject(word.error);
      else hear(word);
    });
    thread.once('error', reject);
  });
  thread.on('error', (error) => {
    throw error;
  });

  return {
    port,
    state: () => ({
      host,
      port,
      clients,
      lastError,
      closedOnError,
      slowed: [...slowed].flatMap(([name, at]) => (recently(at) ? [name] : [])),
      full: recently(turnedAwayAt),
    }),
    expelUnknown: () => say({ kind: 'expel-unknown', usernames: accounts().map(({ username }) => username) }),
    publish: (topic, payload) => say({ kind: 'publish', topic, payload }),
    async close() {
      say({ kind: 'close' });
      await ended;
    },
  };
}
