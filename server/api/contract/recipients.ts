import { z } from 'zod';
import {
  attemptCodes,
  attemptOutcomes,
  deliveryStates,
  messageLanguages,
  outgoingEvents,
  recipientChannels,
  severities,
} from '../../analysis/delivery-vocabulary.ts';
import { instant, name } from './values.ts';

const noticeCode = z.string().min(1).max(60);
const timeOfDay = z
  .string()
  .regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'must be a time of day like 22:00')
  .meta({ description: 'local time of the dwelling, hh:mm' });

const rules = z
  .strictObject({
    codes: z.array(noticeCode).max(100).nullable().meta({ description: 'codes of notices to send word of; null: all' }),
    minimumSeverity: z.enum(severities),
  })
  .meta({ description: 'which notices the recipient gets word of' });

const quietHours = z
  .strictObject({
    from: timeOfDay,
    to: timeOfDay,
    breakFor: z.array(noticeCode).max(100).meta({ description: 'codes of notices that are sent all the same' }),
  })
  .meta({ description: 'no word is sent then; what comes up waits until they end' });

export const recipient = z
  .object({
    id: z.int(),
    name,
    channel: z.enum(recipientChannels),
    address: z.string(),
    language: z.enum(messageLanguages).catch('en'),
    rules,
    quietHours: quietHours.nullable(),
    weeklySummary: z.boolean(),
    dailyDigest: z.boolean().meta({ description: 'the seal of each day is sent to them, to be kept' }),
    active: z.boolean(),
    unsubscribedAt: instant.nullable().meta({ description: 'when they said by the link that they want no more' }),
  })
  .meta({ id: 'Recipient', description: 'a person, or a program, that word is sent to' });

export const recipients = z.object({
  recipients: z.array(recipient),
  mailFrom: z.string().nullable().meta({ description: 'address that mail is sent from; null: no mail server is set' }),
  publicAddress: z
    .string()
    .nullable()
    .meta({ description: 'where the page is reached from outside; null: mails carry no link to stop them' }),
});

const fields = {
  name,
  address: z.string().trim().min(1).max(500).meta({ description: 'e-mail address, or URL of a webhook' }),
  language: z.enum(messageLanguages),
  rules,
  quietHours: quietHours.nullable(),
  weeklySummary: z.boolean(),
  dailyDigest: z.boolean(),
  active: z.boolean(),
};

export const newRecipient = z.strictObject({
  ...fields,
  channel: z.enum(recipientChannels),
  language: fields.language.default('en'),
  rules: fields.rules.default({ codes: null, minimumSeverity: 'caution' }),
  quietHours: fields.quietHours.default(null),
  weeklySummary: fields.weeklySummary.default(false),
  dailyDigest: fields.dailyDigest.default(false),
  active: fields.active.default(true),
});

export const recipientChange = z
  .strictObject({
    ...fields,
    unsubscribedAt: z.null().meta({ description: 'they asked to get word again' }),
    secret: z.literal('new').meta({ description: 'sign with a new secret from now on; webhooks only' }),
  })
  .partial();

export const recipientSaved = z.object({
  recipient,
  secret: z
    .string()
    .nullable()
    .meta({ description: 'what a webhook’s deliveries are signed with; told once, when it is made, and never again' }),
});

const attempt = z.object({
  number: z.int(),
  startedAt: instant,
  endedAt: instant.nullable(),
  outcome: z.enum(attemptOutcomes),
  code: z.enum(attemptCodes).meta({ description: 'why it ended so' }),
  detail: z.string().meta({ description: 'what the other side or the network said, word for word' }),
});

export const delivery = z
  .object({
    id: z.string(),
    recipientId: z.int(),
    noticeId: z.int().nullable(),
    event: z.enum(outgoingEvents),
    subject: z.string(),
    state: z.enum(deliveryStates),
    createdAt: instant,
    nextAt: instant.nullable().meta({ description: 'next attempt at the earliest; null: none is to come' }),
    finishedAt: instant.nullable(),
    attempts: z.array(attempt),
  })
  .meta({ id: 'Delivery', description: 'one message to one recipient, and how far it came' });

export const deliveriesQuery = z.object({
  recipient: z.coerce.number().int().positive().optional(),
  state: z.enum(deliveryStates).optional(),
  limit: z.coerce.number().int().min(1).max(200).default(50),
});

export const deliveries = z.object({
  counts: z.record(z.enum(deliveryStates), z.int()).meta({ description: 'messages of the dwelling in each state' }),
  deliveries: z.array(delivery).meta({ description: 'the last ones, newest first' }),
});

export type RecipientWire = z.infer<typeof recipient>;
export type DeliveryWire = z.infer<typeof delivery>;
