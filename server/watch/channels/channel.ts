import type { AttemptCode, RecipientChannel } from '../../analysis/delivery-vocabulary.ts';
import type { Delivery, Recipient } from '../../store/port.ts';

/** One message on its way to one recipient, with all that a channel needs of the rest of the program. */
export interface Parcel {
  readonly delivery: Delivery;
  readonly recipient: Recipient;
  readonly dwelling: { readonly slug: string; readonly name: string };
  /** the same at every attempt, and of no other message of any installation: see {@link messageKey} */
  readonly key: string;
  /** address of the page where the recipient can say that they want no more; null: the program has no public address */
  readonly unsubscribeUrl: string | null;
}

/** What came of an attempt. `for-now`: worth trying again. */
export type ChannelResult =
  | { readonly kind: 'taken'; readonly detail: string }
  | {
      readonly kind: 'for-now' | 'for-good';
      readonly code: AttemptCode;
      /** word for word what the other side or the network said */
      readonly detail: string;
      /** the other side asked not to be tried again sooner, ms */
      readonly retryAfterMs?: number;
    };

/** Carries a parcel to the other side. Never throws for what the other side or the network does. */
export type Channel = (parcel: Parcel) => Promise<ChannelResult>;

export type Channels = { readonly [Name in RecipientChannel]: Channel };
