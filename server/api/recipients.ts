import type {
  DeliveryAttempt,
  Delivery as DeliveryRow,
  Dwelling,
  OutboxStore,
  OutgoingMessage,
  Recipient,
} from '../store/port.ts';
import { isMailbox } from '../watch/channels/mail.ts';
import { newSecret } from '../watch/channels/signature.ts';
import { readWebhookUrl } from '../watch/channels/webhook.ts';
import type { Delivery } from '../watch/delivery.ts';
import { deliveryWords } from '../words/delivery.ts';
import type { DeliveryWire, RecipientWire } from './contract/recipients.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export interface RecipientParts {
  readonly store: OutboxStore;
  readonly delivery: Delivery;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}

/** What the API does for recipients and for what is sent to them. */
export function recipientHandlers({
  store,
  delivery,
  clock,
  dwellingOf,
}: RecipientParts): Pick<
  Handlers,
  | 'listRecipients'
  | 'addRecipient'
  | 'changeRecipient'
  | 'removeRecipient'
  | 'testRecipient'
  | 'listDeliveries'
  | 'retryDelivery'
> {
  const { sender, mailFrom, publicAddress } = delivery;

  async function recipientOf(dwelling: Dwelling, id: number): Promise<Recipient> {
    const recipient = (await store.recipients(dwelling.id)).find((candidate) => candidate.id === id);
    if (!recipient) throw new RequestProblem('not-found', `There is no recipient ${id} in ${dwelling.slug}.`);
    return recipient;
  }

  async function withAttempts(dwelling: Dwelling, rows: readonly DeliveryRow[]): Promise<DeliveryWire[]> {
    const attempts = await store.deliveryAttempts(
      dwelling.id,
      rows.map(({ id }) => id),
    );
    return rows.map((row) =>
      deliveryView(
        row,
        attempts.filter(({ messageId }) => messageId === row.id),
      ),
    );
  }

  return {
    async listRecipients({ params }) {
      const list = await store.recipients((await dwellingOf(params)).id);
      return { recipients: list.map(recipientView), mailFrom, publicAddress };
    },

    async addRecipient({ params, body }) {
      const dwelling = await dwellingOf(params);
      checkAddress(body.channel, body.address);
      const secret = body.channel === 'webhook' ? newSecret() : null;
      const { quietHours, ...rest } = body;
      const added = await store.addRecipient({
        ...rest,
        quietHours: minutesOf(quietHours),
        secret,
        dwellingId: dwelling.id,
        unsubscribedAt: null,
      });
      return { recipient: recipientView(added), secret };
    },

    async changeRecipient({ params, body }) {
      const dwelling = await dwellingOf(params);
      const before = await recipientOf(dwelling, params.id);
      const { quietHours, secret: wanted, ...rest } = body;
      if (body.address !== undefined) checkAddress(before.channel, body.address);
      if (wanted === 'new' && before.channel !== 'webhook') {
        throw new RequestProblem('bad-request', 'Only deliveries to webhooks are signed.', [
          { pointer: '/secret', detail: 'is for webhooks only' },
        ]);
      }
      const secret = wanted === 'new' ? newSecret() : null;
      const change = {
        ...rest,
        ...(quietHours === undefined ? {} : { quietHours: minutesOf(quietHours) }),
        ...(secret === null ? {} : { secret }),
      };
      const changed = await store.changeRecipient(dwelling.id, params.id, change, clock());
      return { recipient: recipientView(changed), secret };
    },

    async removeRecipient({ params }) {
      await store.removeRecipient((await dwellingOf(params)).id, params.id);
      return undefined;
    },

    async testRecipient({ params }) {
      const dwelling = await dwellingOf(params);
      const recipient = await recipientOf(dwelling, params.id);
      const message = testMessage(dwelling, recipient, clock());
      await sender.sendNow(message);
      const rows = await store.deliveries(dwelling.id, { recipientId: recipient.id }, 200);
      return (
        await withAttempts(
          dwelling,
          rows.filter(({ id }) => id === message.id),
        )
      )[0]!;
    },

    async listDeliveries({ params, query }) {
      const dwelling = await dwellingOf(params);
      const filter = {
        ...(query.recipient === undefined ? {} : { recipientId: query.recipient }),
        ...(query.state === undefined ? {} : { states: [query.state] }),
      };
      const [counts, rows] = await Promise.all([
        store.countDeliveries(dwelling.id),
        store.deliveries(dwelling.id, filter, query.limit),
      ]);
      return { counts, deliveries: await withAttempts(dwelling, rows) };
    },

    async retryDelivery({ params }) {
      const dwelling = await dwellingOf(params);
      const row = await store.retryMessage(dwelling.id, params.message, clock());
      sender.wake();
      return (await withAttempts(dwelling, [row]))[0]!;
    },
  };
}

function testMessage(dwelling: Dwelling, { id, name, language }: Recipient, now: number): OutgoingMessage {
  const { subject, text } = deliveryWords(language).test;
  return {
    id: `test-${id}-${now}`,
    dwellingId: dwelling.id,
    recipientId: id,
    noticeId: null,
    event: 'test',
    createdAt: now,
    notBefore: now,
    body: { subject: subject(dwelling.name), text: text(name), data: { event: 'test' } },
  };
}

function checkAddress(channel: Recipient['channel'], address: string): void {
  if (channel === 'email' ? isMailbox(address) : readWebhookUrl(address) !== null) return;
  throw channel === 'email'
    ? new RequestProblem('bad-request', 'That is no e-mail address; one is ada@example.org.', [
        { pointer: '/address', detail: 'is no e-mail address' },
      ])
    : new RequestProblem(
        'bad-request',
        'A webhook’s address begins with https://, or http:// at home, and holds no user name or password.',
        [{ pointer: '/address', detail: 'is no address of a webhook' }],
      );
}

const minutes = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
const timeOfDay = (minute: number): string =>
  [Math.floor(minute / 60), minute % 60].map((part) => String(part).padStart(2, '0')).join(':');

const minutesOf = (hours: RecipientWire['quietHours']): Recipient['quietHours'] =>
  hours && { fromMinute: minutes(hours.from), toMinute: minutes(hours.to), breakFor: hours.breakFor };

function recipientView(row: Recipient): RecipientWire {
  const {
    id,
    name,
    channel,
    address,
    language,
    rules,
    quietHours,
    weeklySummary,
    dailyDigest,
    active,
    unsubscribedAt,
  } = row;
  return {
    id,
    name,
    channel,
    address,
    language: language as RecipientWire['language'],
    rules: { ...rules, codes: rules.codes && [...rules.codes] },
    quietHours: quietHours && {
      from: timeOfDay(quietHours.fromMinute),
      to: timeOfDay(quietHours.toMinute),
      breakFor: [...quietHours.breakFor],
    },
    weeklySummary,
    dailyDigest,
    active,
    unsubscribedAt: unsubscribedAt === null ? null : toInstant(unsubscribedAt),
  };
}

function deliveryView(row: DeliveryRow, attempts: readonly DeliveryAttempt[]): DeliveryWire {
  const { id, recipientId, noticeId, event, state, body, createdAt, nextAt, finishedAt } = row;
  return {
    id,
    recipientId,
    noticeId,
    event,
    subject: body.subject,
    state,
    createdAt: toInstant(createdAt),
    nextAt: state === 'waiting' ? toInstant(nextAt) : null,
    finishedAt: finishedAt === null ? null : toInstant(finishedAt),
    attempts: attempts.map(({ number, startedAt, endedAt, outcome, code, detail }) => ({
      number,
      startedAt: toInstant(startedAt),
      endedAt: endedAt === null ? null : toInstant(endedAt),
      outcome,
      code,
      detail,
    })),
  };
}
