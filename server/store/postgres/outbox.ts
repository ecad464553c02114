import { randomBytes } from 'node:crypto';
import { type DeliveryState, deliveryStates } from '../../analysis/delivery-vocabulary.ts';
import { oneOf, wholeLimit, wholeTime } from '../arguments.ts';
import {
  attemptColumns,
  checkMessage,
  countByState,
  type DeliveryRow,
  deliveryColumns,
  outcomeOf,
  stateAfter,
  toDelivery,
} from '../outbox-rows.ts';
import {
  type ClaimedDelivery,
  type DeliveryAttempt,
  type OutboxStore,
  type OutgoingMessage,
  StoreError,
} from '../port.ts';
import { checkRecipient, mayBeSentTo, recipientColumns, toRecipientRow } from '../recipient-rows.ts';
import { merge, selectList } from '../row-columns.ts';
import { int4s, int8s } from './arrays.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { nextId } from './ids.ts';
import { findRecipient, listRecipients } from './recipients.ts';
import { insertRow, removeRow, requireDwelling, updateRow } from './rows.ts';

/**
 * Puts messages into the outbox: see {@link OutboxStore.addMessages}. To be called in the turns of their dwellings, so that
 * what caused a message and the message are kept together or not at all.
 */
export async function insertMessages(tx: Transaction, messages: readonly OutgoingMessage[]): Promise<number> {
  if (messages.length === 0) return 0;
  for (const message of messages) checkMessage(message);
  const counts = new Map<number, number>();
  const places = messages.map(({ dwellingId }) => {
    const place = counts.get(dwellingId) ?? 0;
    counts.set(dwellingId, place + 1);
    return place;
  });
  const firsts = new Map<number, number>();
  for (const [dwellingId, count] of counts) firsts.set(dwellingId, await nextId(tx, dwellingId, 'outbox', count));
  return tx.run(
    `INSERT INTO outbox (dwelling_id, id, turn, recipient_id, notice_id, event, created_at, not_before, subject, text, data,
                         state, next_at, finished_at)
     SELECT new.dwelling_id, new.id, turn, recipient_id, nullif(notice_id, 0), event, created_at, not_before, subject, text,
            data, CASE WHEN wanted THEN 'waiting' ELSE 'withdrawn' END, not_before, CASE WHEN NOT wanted THEN created_at END
     FROM unnest($1::int[], $2::text[], $3::int[], $4::int[], $5::int[], $6::text[], $7::bigint[], $8::bigint[], $9::text[],
                 $10::text[], $11::text[])
       AS new (dwelling_id, id, turn, recipient_id, notice_id, event, created_at, not_before, subject, text, data)
     JOIN (SELECT dwelling_id, id, active = 1 AND unsubscribed_at IS NULL AS wanted FROM recipient) AS recipient
       ON recipient.dwelling_id = new.dwelling_id AND recipient.id = recipient_id
     ORDER BY turn
     ON CONFLICT (dwelling_id, id) DO NOTHING`,
    [
      int4s(messages.map(({ dwellingId }) => dwellingId)),
      messages.map(({ id }) => id),
      int4s(messages.map(({ dwellingId }, k) => firsts.get(dwellingId)! + places[k]!)),
      int4s(messages.map(({ recipientId }) => recipientId)),
      // ids begin at 1
      int4s(messages.map(({ noticeId }) => noticeId ?? 0)),
      messages.map(({ event }) => event),
      int8s(messages.map(({ createdAt }) => createdAt)),
      int8s(messages.map(({ notBefore }) => notBefore)),
      messages.map(({ body }) => body.subject),
      messages.map(({ body }) => body.text),
      messages.map(({ body }) => JSON.stringify(body.data)),
    ],
  );
}

/**
 * Of every recipient the message that is sent next: one being sent comes before those that wait.
 *
 * @param where which recipients
 */
const firstOfEach = (where = 'true'): string =>
  `SELECT DISTINCT ON (dwelling_id, recipient_id) dwelling_id, recipient_id, id, turn, next_at FROM outbox
   WHERE state IN ('sending', 'waiting') AND ${where}
   ORDER BY dwelling_id, recipient_id, state, not_before, turn`;

const findDelivery = async (db: Connection, dwellingId: number, id: string): Promise<DeliveryRow | undefined> =>
  db.first<DeliveryRow>(`SELECT ${selectList({ ...deliveryColumns })} FROM outbox WHERE dwelling_id = $1 AND id = $2`, [
    dwellingId,
    id,
  ]);

interface Claim {
  readonly dwellingId: number;
  readonly id: string;
}

/** Marks messages as being sent and writes the attempts down, their ends not known. Gives them in the order asked for. */
async function take(
  tx: Transaction,
  claims: readonly Claim[],
  now: number,
  claimedUntil: number,
): Promise<ClaimedDelivery[]> {
  const claimed: ClaimedDelivery[] = [];
  for (const { dwellingId, id } of claims) {
    const row = await tx.first<DeliveryRow>(
      `UPDATE outbox SET state = 'sending', attempts = attempts + 1, attempts_in_row = attempts_in_row + 1,
         trying_since = coalesce(trying_since, $3), next_at = $4, finished_at = NULL
       WHERE dwelling_id = $1 AND id = $2 RETURNING ${selectList({ ...deliveryColumns })}`,
      [dwellingId, id, now, claimedUntil],
    );
    const delivery = toDelivery(row!);
    await insertRow(tx, 'delivery_attempt', attemptColumns, {
      dwellingId,
      messageId: id,
      number: delivery.attempts,
      startedAt: now,
      endedAt: null,
      outcome: 'unknown',
      code: 'not-ended',
      detail: '',
    });
    const recipient = await findRecipient(tx, dwellingId, delivery.recipientId);
    const dwelling = await tx.first<ClaimedDelivery['dwelling']>('SELECT slug, name FROM dwelling WHERE id = $1', [
      dwellingId,
    ]);
    claimed.push({ delivery, recipient, dwelling: dwelling! });
  }
  return claimed;
}

export function outboxStore(db: Database): OutboxStore {
  return {
    async recipients(dwellingId) {
      return listRecipients(db, dwellingId);
    },

    async digestDwellings() {
      const rows = await db.all<{ id: number }>(
        'SELECT DISTINCT dwelling_id AS id FROM recipient WHERE daily_digest = 1 ORDER BY dwelling_id',
      );
      return rows.map(({ id }) => id);
    },

    async addRecipient(recipient) {
      checkRecipient(recipient);
      return db.inTurn(recipient.dwellingId, async (tx) => {
        const whole = { ...recipient, id: await nextId(tx, recipient.dwellingId, 'recipient') };
        await insertRow(tx, 'recipient', recipientColumns, toRecipientRow(whole));
        return whole;
      });
    },

    async changeRecipient(dwellingId, id, change, at) {
      wholeTime('at', at);
      return db.inTurn(dwellingId, async (tx) => {
        const after = merge(await findRecipient(tx, dwellingId, id), change);
        checkRecipient(after);
        await updateRow(tx, 'recipient', recipientColumns, toRecipientRow(after));
        if (!mayBeSentTo(after)) {
          await tx.run(
            `UPDATE outbox SET state = 'withdrawn', finished_at = $3
             WHERE dwelling_id = $1 AND recipient_id = $2 AND state = 'waiting'`,
            [dwellingId, id, at],
          );
        }
        return after;
      });
    },

    async removeRecipient(dwellingId, id) {
      await db.inTurn(dwellingId, (tx) => removeRow(tx, 'recipient', dwellingId, id));
    },

    async addMessages(messages) {
      return db.inTurns(
        messages.map(({ dwellingId }) => dwellingId),
        (tx) => insertMessages(tx, messages),
      );
    },

    /**
     * Several processes may ask at once. Each locks recipients whose first message is due, leaving out those that another
     * has locked, and only then looks again which message is first: what another process took or finished just before is
     * seen, and no recipient has two messages under way. It waits for nobody's turn.
     */
    async claimDue(now, claimedUntil, limit) {
      wholeTime('now', now);
      wholeTime('claimedUntil', claimedUntil);
      wholeLimit(limit);
      return db.write(async (tx) => {
        const locked = await tx.all<{ dwellingId: number; id: number }>(
          `SELECT recipient.dwelling_id AS "dwellingId", recipient.id
           FROM recipient JOIN (${firstOfEach()}) AS first
             ON first.dwelling_id = recipient.dwelling_id AND first.recipient_id = recipient.id
           WHERE first.next_at <= $1
           ORDER BY first.next_at, first.dwelling_id, first.turn LIMIT $2
           FOR NO KEY UPDATE OF recipient SKIP LOCKED`,
          [now, limit],
        );
        if (locked.length === 0) return [];
        // the messages are locked too: the end of an attempt whose claim ran out may be on its way
        const due = await tx.all<Claim>(
          `SELECT message.dwelling_id AS "dwellingId", message.id FROM outbox AS message JOIN (
             ${firstOfEach('(dwelling_id, recipient_id) IN (SELECT * FROM unnest($2::int[], $3::int[]))')}
           ) AS first ON first.dwelling_id = message.dwelling_id AND first.id = message.id
           WHERE message.next_at <= $1 AND message.state IN ('sending', 'waiting')
           ORDER BY message.next_at, message.dwelling_id, message.turn FOR NO KEY UPDATE OF message SKIP LOCKED`,
          [now, int4s(locked.map(({ dwellingId }) => dwellingId)), int4s(locked.map(({ id }) => id))],
        );
        return take(tx, due, now, claimedUntil);
      });
    },

    async claimNew(message, claimedUntil) {
      wholeTime('claimedUntil', claimedUntil);
      return db.inTurn(message.dwellingId, async (tx) => {
        await findRecipient(tx, message.dwellingId, message.recipientId);
        if ((await insertMessages(tx, [message])) === 0) {
          throw new StoreError('already-there', `There is a message ${message.id} already.`);
        }
        return (await take(tx, [message], message.createdAt, claimedUntil))[0]!;
      });
    },

    async finishAttempt(dwellingId, id, attempt, end, at) {
      wholeTime('at', at);
      const finish = async (tx: Transaction): Promise<boolean> => {
        await tx.run(
          `UPDATE delivery_attempt SET ended_at = $4, outcome = $5, code = $6, detail = $7
           WHERE dwelling_id = $1 AND message_id = $2 AND number = $3 AND ended_at IS NULL`,
          [dwellingId, id, attempt, at, outcomeOf(end), end.code, end.detail],
        );
        const delivery = await tx.first<Pick<DeliveryRow, 'recipientId' | 'nextAt'>>(
          `SELECT recipient_id AS "recipientId", next_at AS "nextAt" FROM outbox
           WHERE dwelling_id = $1 AND id = $2 AND attempts = $3 AND state = 'sending' FOR NO KEY UPDATE`,
          [dwellingId, id, attempt],
        );
        if (delivery === undefined) return false;
        const state = stateAfter(end, mayBeSentTo(await findRecipient(tx, dwellingId, delivery.recipientId)));
        await tx.run(
          'UPDATE outbox SET state = $3, next_at = $4, finished_at = $5 WHERE dwelling_id = $1 AND id = $2',
          [
            dwellingId,
            id,
            state,
            end.kind === 'again' ? wholeTime('nextAt', end.nextAt) : delivery.nextAt,
            state === 'waiting' ? null : at,
          ],
        );
        return true;
      };
      // in turn, so that a recipient who unsubscribes meanwhile is not left with a message that waits
      return db.inTurn(dwellingId, finish).catch((error: unknown) => {
        // the dwelling was an example and is gone
        if (error instanceof StoreError && error.fault === 'not-found') return false;
        throw error;
      });
    },

    async nextDue() {
      const { due } = (await db.first<{ due: number | null }>(
        `SELECT min(next_at) AS due FROM (${firstOfEach()}) AS first`,
      ))!;
      return due;
    },

    async retryMessage(dwellingId, id, now) {
      wholeTime('now', now);
      return db.inTurn(dwellingId, async (tx) => {
        await tx.run(
          `UPDATE outbox SET state = 'waiting', attempts_in_row = 0, trying_since = NULL, next_at = $3, finished_at = NULL
           WHERE dwelling_id = $1 AND id = $2 AND state = 'given-up'`,
          [dwellingId, id, now],
        );
        const delivery = await findDelivery(tx, dwellingId, id);
        if (delivery === undefined) throw new StoreError('not-found', `Dwelling ${dwellingId} has no message ${id}.`);
        return toDelivery(delivery);
      });
    },

    async deliveries(dwellingId, { recipientId, states = deliveryStates }, limit) {
      await requireDwelling(db, dwellingId);
      wholeLimit(limit);
      const wanted = states.map((state) => oneOf('state', state, deliveryStates));
      const rows = await db.all<DeliveryRow>(
        `SELECT ${selectList({ ...deliveryColumns })} FROM outbox
         WHERE dwelling_id = $1 AND ($2::bigint IS NULL OR recipient_id = $2) AND state = ANY ($3::text[])
         ORDER BY turn DESC LIMIT $4`,
        [dwellingId, recipientId ?? null, wanted, limit],
      );
      return rows.map(toDelivery);
    },

    async deliveryAttempts(dwellingId, messageIds) {
      return db.all<DeliveryAttempt>(
        `SELECT ${selectList({ ...attemptColumns })} FROM delivery_attempt
         WHERE dwelling_id = $1 AND message_id = ANY ($2::text[]) ORDER BY message_id, number`,
        [dwellingId, messageIds],
      );
    },

    async countDeliveries(dwellingId) {
      await requireDwelling(db, dwellingId);
      const counted = await db.all<{ state: DeliveryState; count: number }>(
        'SELECT state, count(*) AS count FROM outbox WHERE dwelling_id = $1 GROUP BY state',
        [dwellingId],
      );
      return countByState(counted.map(({ state, count }) => [state, count]));
    },

    async countWaiting() {
      const counted = await db.first<{ count: number }>("SELECT count(*) AS count FROM outbox WHERE state = 'waiting'");
      return counted!.count;
    },

    async forgetFinished(before) {
      wholeTime('before', before);
      return db.run("DELETE FROM outbox WHERE state IN ('sent', 'given-up', 'withdrawn') AND finished_at < $1", [
        before,
      ]);
    },

    async installationKey() {
      await db.run('INSERT INTO installation (id, secret_key) VALUES (1, $1) ON CONFLICT DO NOTHING', [
        randomBytes(32),
      ]);
      return (await db.first<{ key: Uint8Array }>('SELECT secret_key AS key FROM installation'))!.key;
    },
  };
}
