/** The words for sending word to people: channels, what a message is about, how far it came, how an attempt ended. */

/** From the mildest up. */
export const severities = ['note', 'caution', 'warning'] as const;

export const recipientChannels = ['email', 'webhook'] as const;
export type RecipientChannel = (typeof recipientChannels)[number];

export const outgoingEvents = ['begun', 'reminder', 'ended', 'weekly-summary', 'daily-digest', 'test'] as const;
export type OutgoingEvent = (typeof outgoingEvents)[number];

/**
 * waiting: to be sent when due; sending: claimed by a running attempt; sent: the other side took it; given-up: failed for
 * good, or for too long, and can be tried again by hand; withdrawn: not sent, for the recipient was off or unsubscribed.
 */
export const deliveryStates = ['waiting', 'sending', 'sent', 'given-up', 'withdrawn'] as const;
export type DeliveryState = (typeof deliveryStates)[number];

/** How an attempt ended. unknown: the program stopped before it could write that down; the message may have arrived. */
export const attemptOutcomes = ['sent', 'failed-for-now', 'failed-for-good', 'unknown'] as const;
export type AttemptOutcome = (typeof attemptOutcomes)[number];

/** Why an attempt ended as it did. */
export const attemptCodes = [
  'taken',
  'not-ended',
  'no-mail-server',
  'host-not-found',
  'connection-refused',
  'unreachable',
  'timed-out',
  'connection-lost',
  'certificate-not-trusted',
  'encryption-failed',
  'sign-in-refused',
  'sender-refused',
  'address-refused',
  'message-refused',
  'busy',
  'moved',
  'private-address',
  'not-encrypted',
  'bad-address',
  'failed',
] as const;
export type AttemptCode = (typeof attemptCodes)[number];

/** Languages that words are sent in (BCP 47). */
export const messageLanguages = ['en', 'de'] as const;
export type MessageLanguage = (typeof messageLanguages)[number];

/** Root of the topics on which coomb says how places are. No reading is ever taken from below it. */
export const STATE_ROOT = 'coomb-state';
