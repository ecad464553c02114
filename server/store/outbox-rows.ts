import {
  type AttemptOutcome,
  type DeliveryState,
  deliveryStates,
  outgoingEvents,
} from '../analysis/delivery-vocabulary.ts';
import { filled, oneOf, wholeTime } from './arguments.ts';
import type { AttemptEnd, Delivery, DeliveryAttempt, OutgoingMessage } from './port.ts';
import type { Columns } from './row-columns.ts';

export interface DeliveryRow extends Omit<Delivery, 'body'> {
  readonly subject: string;
  readonly text: string;
  readonly data: string;
}

export const deliveryColumns: Columns<DeliveryRow> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  recipientId: 'recipient_id',
  noticeId: 'notice_id',
  event: 'event',
  createdAt: 'created_at',
  notBefore: 'not_before',
  subject: 'subject',
  text: 'text',
  data: 'data',
  state: 'state',
  attempts: 'attempts',
  attemptsInRow: 'attempts_in_row',
  tryingSince: 'trying_since',
  nextAt: 'next_at',
  finishedAt: 'finished_at',
};

export const attemptColumns: Columns<DeliveryAttempt> = {
  dwellingId: 'dwelling_id',
  messageId: 'message_id',
  number: 'number',
  startedAt: 'started_at',
  endedAt: 'ended_at',
  outcome: 'outcome',
  code: 'code',
  detail: 'detail',
};

/** @throws RangeError for a message that cannot be kept */
export function checkMessage({ id, event, createdAt, notBefore, body }: OutgoingMessage): void {
  if (!/^[\w.:-]{1,200}$/.test(id)) {
    throw new RangeError(`id is '${id}'; it must be 1 to 200 letters, digits and -_.:`);
  }
  oneOf('event', event, outgoingEvents);
  wholeTime('createdAt', createdAt);
  wholeTime('notBefore', notBefore);
  filled('subject', body.subject);
  filled('text', body.text);
}

export const outcomeOf = (end: AttemptEnd): AttemptOutcome =>
  end.kind === 'sent' ? 'sent' : end.kind === 'again' ? 'failed-for-now' : end.outcome;

/** @param wanted whether the recipient is still to be sent to */
export function stateAfter(end: AttemptEnd, wanted: boolean): DeliveryState {
  if (end.kind === 'sent') return 'sent';
  if (end.kind === 'give-up') return 'given-up';
  return wanted ? 'waiting' : 'withdrawn';
}

export function toDelivery({ subject, text, data, ...rest }: DeliveryRow): Delivery {
  return { ...rest, body: { subject, text, data: JSON.parse(data) as Record<string, unknown> } };
}

/** How many there are of each state, those without any too. */
export function countByState(counted: Iterable<readonly [DeliveryState, number]>): Record<DeliveryState, number> {
  const known = new Map(counted);
  return Object.fromEntries(deliveryStates.map((state) => [state, known.get(state) ?? 0])) as Record<
    DeliveryState,
    number
  >;
}
