import type {
  AttemptCode,
  AttemptOutcome,
  DeliveryState,
  OutgoingEvent,
  RecipientChannel,
} from '../analysis/delivery-vocabulary.ts';
import type { Notice } from '../physics/notice.ts';
import type { New } from './port-rows.ts';

export type { AttemptCode, AttemptOutcome, DeliveryState, OutgoingEvent, RecipientChannel };

export type Severity = Notice['severity'];

/** A span of the local day in which no word is sent; where `to` is before `from` it goes over midnight. */
export interface QuietHours {
  /** minutes since local midnight, 0 to 1439 */
  readonly fromMinute: number;
  readonly toMinute: number;
  /** codes of notices that are sent all the same */
  readonly breakFor: readonly string[];
}

/** Which notices a person wants word of. */
export interface RecipientRules {
  /** codes of notices; null: all of them */
  readonly codes: readonly string[] | null;
  readonly minimumSeverity: Severity;
}

/** A person, or a program, that word is sent to. */
export interface Recipient {
  readonly id: number;
  readonly dwellingId: number;
  readonly name: string;
  readonly channel: RecipientChannel;
  /** e-mail address, or http(s) URL of a webhook */
  readonly address: string;
  /** what webhook deliveries are signed with; null for e-mail */
  readonly secret: string | null;
  /** BCP 47 language tag of the words sent */
  readonly language: string;
  readonly rules: RecipientRules;
  /** null: none */
  readonly quietHours: QuietHours | null;
  readonly weeklySummary: boolean;
  /** the seal of each day is sent to them, to be kept */
  readonly dailyDigest: boolean;
  /** false: switched off by the owner; nothing is sent */
  readonly active: boolean;
  /** when the person said by the link in a mail that they want no more; null: they did not */
  readonly unsubscribedAt: number | null;
}

/** The words in the recipient's language, and the same as figures for a program. */
export interface MessageBody {
  /** one line */
  readonly subject: string;
  /** plain text, paragraphs parted by an empty line */
  readonly text: string;
  readonly data: Readonly<Record<string, unknown>>;
}

/** Word for one recipient. */
export interface OutgoingMessage {
  /**
   * made from what the message is about and for whom, so that whoever would write it again makes the same id: it is
   * kept once. 1 to 200 letters, digits and `-_.:`
   */
  readonly id: string;
  readonly dwellingId: number;
  readonly recipientId: number;
  readonly noticeId: number | null;
  readonly event: OutgoingEvent;
  readonly createdAt: number;
  /** not to be sent earlier: quiet hours end then */
  readonly notBefore: number;
  readonly body: MessageBody;
}

/** A message in the outbox with how far it came. */
export interface Delivery extends OutgoingMessage {
  readonly state: DeliveryState;
  /** attempts begun */
  readonly attempts: number;
  /** of these, attempts since it was put in or let wait again by hand, and when the first of them began (null: none) */
  readonly attemptsInRow: number;
  readonly tryingSince: number | null;
  /** next attempt at the earliest while waiting; while sending, when the claim runs out */
  readonly nextAt: number;
  /** when it was sent, given up or withdrawn; null: none of these yet */
  readonly finishedAt: number | null;
}

export interface DeliveryAttempt {
  readonly dwellingId: number;
  readonly messageId: string;
  /** 1, 2, 3 and so on within the message */
  readonly number: number;
  readonly startedAt: number;
  /** null: running, or unknown */
  readonly endedAt: number | null;
  readonly outcome: AttemptOutcome;
  readonly code: AttemptCode;
  /** what the other side or the network said, word for word; may be empty; never holds a secret */
  readonly detail: string;
}

/** A message taken for one attempt. Finishing it needs the same attempt number: a claim that ran out finishes nothing. */
export interface ClaimedDelivery {
  readonly delivery: Delivery;
  readonly recipient: Recipient;
  readonly dwelling: { readonly slug: string; readonly name: string };
}

/** How an attempt ended, and what follows. */
export type AttemptEnd = { readonly code: AttemptCode; readonly detail: string } & (
  | { readonly kind: 'sent' }
  | { readonly kind: 'again'; readonly nextAt: number }
  /** outcome: of this attempt; the message is given up either way */
  | { readonly kind: 'give-up'; readonly outcome: 'failed-for-now' | 'failed-for-good' }
);

type RecipientChange = { readonly [K in Exclude<keyof Recipient, 'id' | 'dwellingId'>]?: Recipient[K] | undefined };

export interface DeliveryFilter {
  readonly recipientId?: number;
  readonly states?: readonly DeliveryState[];
}

export interface OutboxStore {
  recipients(dwellingId: number): Promise<Recipient[]>;
  /** Ids of dwellings of which somebody asked for the daily digest. */
  digestDwellings(): Promise<number[]>;
  addRecipient(recipient: New<Recipient>): Promise<Recipient>;
  /** One who is off or unsubscribed afterwards has what waits for them withdrawn. */
  changeRecipient(dwellingId: number, id: number, change: RecipientChange, at: number): Promise<Recipient>;
  /** Takes the recipient and everything of theirs out of the outbox for good. */
  removeRecipient(dwellingId: number, id: number): Promise<void>;

  /**
   * Puts messages into the outbox, all or none. One whose id is there already stays as it is; one for a recipient that is
   * no more is left out; one for a recipient that is off or unsubscribed is withdrawn at once. Gives how many were new.
   */
  addMessages(messages: readonly OutgoingMessage[]): Promise<number>;
  /**
   * Takes for an attempt the first message of every recipient whose first is due, at most `limit`, longest due first,
   * and writes the attempt down. First is by `notBefore`, then in order of writing; one that is being sent or waits to be
   * tried again holds back those after it. A claim that ran out is taken again.
   */
  claimDue(now: number, claimedUntil: number, limit: number): Promise<ClaimedDelivery[]>;
  /** Puts a message in and takes it for an attempt in one step, whatever its turn and the recipient's state. */
  claimNew(message: OutgoingMessage, claimedUntil: number): Promise<ClaimedDelivery>;
  /** Writes down how the attempt ended; false: the claim ran out meanwhile and another attempt has begun. */
  finishAttempt(dwellingId: number, id: string, attempt: number, end: AttemptEnd, at: number): Promise<boolean>;
  /** When the next message falls due or a claim runs out; null: nothing waits. */
  nextDue(): Promise<number | null>;
  /** Lets a message that was given up wait again, due at once, its attempts and time counted anew. */
  retryMessage(dwellingId: number, id: string, now: number): Promise<Delivery>;
  /** The last messages, newest first. */
  deliveries(dwellingId: number, filter: DeliveryFilter, limit: number): Promise<Delivery[]>;
  /** Attempts of messages, oldest first. */
  deliveryAttempts(dwellingId: number, messageIds: readonly string[]): Promise<DeliveryAttempt[]>;
  countDeliveries(dwellingId: number): Promise<Record<DeliveryState, number>>;
  /** Messages of all dwellings that wait to be sent. */
  countWaiting(): Promise<number>;
  /** Removes messages that were sent, given up or withdrawn before a time, with their attempts; gives how many. */
  forgetFinished(before: number): Promise<number>;

  /** The installation's own key, 32 random bytes made once: what links in mails and ids on the wire are made with. */
  installationKey(): Promise<Uint8Array>;
}
