import { readUrl } from './broker-url.ts';
import { createTaker } from './handing.ts';
import { type Log, silent } from './log.ts';
import type { Intake } from './receiver.ts';
import { startThread } from './thread.ts';
import type { FromSubscription, LinkState, ToSubscription } from './thread-words.ts';
import { TOPIC_FILTER } from './topic.ts';

export interface SubscriberOptions {
  /** mqtt:// or mqtts://, with or without user name and password */
  readonly url: string;
  /** in the place of those in the URL */
  readonly username?: string;
  readonly password?: string;
  /** the broker keeps a session under this name; two programs must not share one */
  readonly clientId: string;
  readonly topics: readonly string[];
  /**
   * programs of the same group share the messages, each message going to one of them (MQTT 5, 4.8.2), and each keeps a
   * session of its own; null: this program gets all of them
   */
  readonly group: string | null;
  /** how long the broker keeps the session of a program that is away (MQTT 5) */
  readonly sessionSeconds: number;
  /** messages the broker may send ahead of their acknowledgement */
  readonly inFlight: number;
  /** first and longest pause before connecting again, ms: what a broker takes before we listen is in its memory alone */
  readonly retryMs: number;
  readonly longestRetryMs: number;
  /** the longest in a group: what a broker that started anew takes before that may be for nobody */
  readonly longestSharedRetryMs: number;
  /** longest wait at the end for what was taken to be stored and acknowledged, ms */
  readonly closingMs: number;
  /** the same for leaving a group, and how long nothing must come for it to be over, ms */
  readonly leavingMs: number;
  readonly quietMs: number;
}

/** A session of 30 days outlives a holiday with the program switched off. */
export const subscriberOptions: Omit<SubscriberOptions, 'url'> = Object.freeze({
  clientId: 'coomb',
  topics: [TOPIC_FILTER],
  group: null,
  sessionSeconds: 30 * 86_400,
  inFlight: 1000,
  retryMs: 200,
  longestRetryMs: 30_000,
  longestSharedRetryMs: 1000,
  closingMs: 3000,
  leavingMs: 1500,
  quietMs: 200,
});

export interface SubscriberState extends LinkState {
  /** UTC ms of the last change of `connected` */
  readonly since: number;
}

export interface Subscriber {
  state(): SubscriberState;
  /**
   * Ends the subscription of a member of a group that is to be closed, so that the others get all further messages, and takes
   * what the broker had given to this one already. What it has not sent yet by then stays in the session for the next start.
   *
   * @source MQTT Version 5.0, 3.10.4: nothing is added any more, and what delivery has begun of is delivered
   */
  leave(): Promise<void>;
  close(): Promise<void>;
}

/**
 * Subscribes to an external broker and keeps at it, in a thread of its own. A QoS 1 message is acknowledged once the receiver
 * has it on disk; the session outlives the connection, so what is published meanwhile arrives later.
 *
 * @throws RangeError when the URL is not one of a broker
 */
export function subscribeTo(
  receiver: Pick<Intake, 'receiveAll' | 'hasRoom' | 'room'>,
  options: SubscriberOptions,
  clock: () => number,
  log: Log = silent,
): Subscriber {
  readUrl(options);
  let state: SubscriberState = { connected: false, lastError: null, since: clock(), protocol: null };
  const thread = startThread('subscription-thread', options);
  const say = (word: ToSubscription): void => thread.postMessage(word);
  const take = createTaker(receiver, say);
  const ended = new Promise<void>((resolve) => thread.once('exit', () => resolve()));
  let hasLeft: () => void = () => {};
  let waitsForRoom = false;

  async function askForRoom(): Promise<void> {
    if (waitsForRoom || receiver.hasRoom()) return;
    waitsForRoom = true;
    say({ kind: 'room', isThere: false });
    await receiver.room();
    waitsForRoom = false;
    say({ kind: 'room', isThere: true });
  }

  thread.on('message', (word: FromSubscription) => {
    switch (word.kind) {
      case 'messages':
        take(word);
        askForRoom();
        return;
      case 'log':
        log[word.level](word.detail, word.message);
        return;
      case 'state': {
        const since = word.state.connected === state.connected ? state.since : clock();
        state = { ...word.state, since };
        return;
      }
      case 'left':
        hasLeft();
        return;
    }
  });
  thread.on('error', (error) => {
    throw error;
  });

  return {
    state: () => state,
    leave: () =>
      new Promise((resolve) => {
        hasLeft = resolve;
        say({ kind: 'leave' });
      }),
    async close() {
      say({ kind: 'close' });
      await ended;
    },
  };
}
