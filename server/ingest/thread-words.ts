import type { Account } from './account.ts';

/** What passes between the program and the threads that speak MQTT for it. */

/** A lot of messages that came in, their payloads one after the other. */
export interface Handed {
  readonly kind: 'messages';
  readonly lot: number;
  readonly topics: readonly string[];
  /** which of them are retained */
  readonly retained: readonly number[];
  /** where each payload ends */
  readonly ends: readonly number[];
  readonly payloads: Uint8Array<ArrayBuffer>;
}

/** The messages of a lot are on disk, but for those that could not be stored: which, and why. */
export interface Taken {
  readonly kind: 'taken';
  readonly lot: number;
  readonly refused: readonly (readonly [which: number, reason: string])[];
}

export interface Said {
  readonly kind: 'log';
  readonly level: 'info' | 'warn';
  readonly detail: object;
  readonly message: string;
}

/** Who somebody that connects is; `anyone`: there are no accounts, and whoever can reach the address may do all. */
export type SignedIn = { readonly account: Account } | 'anyone' | 'refused';

/** What happens at the broker, as far as its state tells of it. */
export type BrokerEvent =
  | { readonly kind: 'clients'; readonly count: number }
  /** a connection was closed over a malformed or oversized packet, or because what it sent could not be stored */
  | { readonly kind: 'closed-on-error'; readonly error: string }
  | { readonly kind: 'socket-trouble'; readonly error: string }
  /** sends too much; told once a minute */
  | { readonly kind: 'slowed'; readonly name: string }
  /** a connection was turned away, because there were as many as may be */
  | { readonly kind: 'turned-away' };

export type FromBroker =
  | Handed
  | Said
  | BrokerEvent
  | { readonly kind: 'listening'; readonly port: number }
  | { readonly kind: 'not-listening'; readonly error: Error }
  | {
      readonly kind: 'sign-in';
      readonly ask: number;
      readonly username: string | undefined;
      readonly password: Uint8Array | undefined;
    };

export type ToBroker =
  | Taken
  | { readonly kind: 'signed-in'; readonly ask: number; readonly as: SignedIn }
  /** accounts there are; connections of others are closed */
  | { readonly kind: 'expel-unknown'; readonly usernames: readonly string[] }
  | { readonly kind: 'publish'; readonly topic: string; readonly payload: string }
  | { readonly kind: 'close' };

/** How it stands with the connection to an external broker. */
export interface LinkState {
  /** subscribed, so that readings come in */
  readonly connected: boolean;
  readonly lastError: string | null;
  /** of the last connection that was made */
  readonly protocol: 'MQTT 5' | 'MQTT 3.1.1' | null;
}

export type FromSubscription =
  | Handed
  | Said
  | { readonly kind: 'state'; readonly state: LinkState }
  | { readonly kind: 'left' };

export type ToSubscription =
  | Taken
  /** whether more messages are wanted */
  | { readonly kind: 'room'; readonly isThere: boolean }
  | { readonly kind: 'leave' }
  | { readonly kind: 'close' };
