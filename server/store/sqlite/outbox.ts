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
  type Delivery,
  type DeliveryAttempt,
  type OutboxStore,
  type OutgoingMessage,
  StoreError,
} from '../port.ts';
import { checkRecipient, mayBeSentTo, recipientColumns, toRecipientRow } from '../recipient-rows.ts';
import { merge, selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRecipient, listRecipients } from './recipients.ts';
import { insertRow, removeRow, requireDwelling, updateRow } from './rows.ts';

/**
 * Puts messages into the outbox: see {@link OutboxStore.addMessages}. For use inside a write transaction, so that what
 * caused a message and the message are kept together or not at all.
 */
export function insertMessages(db: Connection, messages: readonly OutgoingMessage[]): number {
  const insert = db.prepare(
    `INSERT INTO outbox (dwelling_id, id, turn, recipient_id, notice_id, event, created_at, not_before, subject, text, data,
                         state, next_at, finished_at)
     SELECT dwelling_id, @id, @turn, id, @noticeId, @event, @createdAt, @notBefore, @subject, @text, @data,
            iif(wanted, 'waiting', 'withdrawn'), @notBefore, iif(wanted, NULL, @createdAt)
     FROM (SELECT *, active AND unsubscribed_at IS NULL AS wanted FROM recipient)
     WHERE dwelling_id = @dwellingId AND id = @recipientId
     ON CONFLICT (dwelling_id, id) DO NOTHING`,
  );
  const nextTurn = idGiver(db);
  let added = 0;
  for (const message of messages) {
    checkMessage(message);
    const { body, ...rest } = message;
    added += insert.run({
      ...rest,
      turn: nextTurn(message.dwellingId, 'outbox'),
      subject: body.subject,
      text: body.text,
      data: JSON.stringify(body.data),
    }).changes;
  }
  return added;
}

export function outboxStore(db: Connection): OutboxStore {
  const nextId = idGiver(db);

  const findDelivery = (dwellingId: number, id: string): Delivery | null => {
    const row = db
      .prepare<[number, string], DeliveryRow>(
        `SELECT ${selectList({ ...deliveryColumns })} FROM outbox WHERE dwelling_id = ? AND id = ?`,
      )
      .get(dwellingId, id);
    return row === undefined ? null : toDelivery(row);
  };

  /** Marks a message as being sent and writes the attempt down, its end not known. */
  function claim(dwellingId: number, id: string, now: number, claimedUntil: number): ClaimedDelivery {
    db.prepare(
      `UPDATE outbox SET state = 'sending', attempts = attempts + 1, attempts_in_row = attempts_in_row + 1,
              trying_since = coalesce(trying_since, ?), next_at = ?, finished_at = NULL
       WHERE dwelling_id = ? AND id = ?`,
    ).run(now, claimedUntil, dwellingId, id);
    const delivery = findDelivery(dwellingId, id)!;
    insertRow(db, 'delivery_attempt', attemptColumns, {
      dwellingId,
      messageId: id,
      number: delivery.attempts,
      startedAt: now,
      endedAt: null,
      outcome: 'unknown',
      code: 'not-ended',
      detail: '',
    });
    const dwelling = db
      .prepare<[number], ClaimedDelivery['dwelling']>('SELECT slug, name FROM dwelling WHERE id = ?')
      .get(dwellingId)!;
    return { delivery, recipient: findRecipient(db, dwellingId, delivery.recipientId), dwelling };
  }

  const withdrawWaiting = (dwellingId: number, recipientId: number, at: number): void => {
    db.prepare(
      `UPDATE outbox SET state = 'withdrawn', finished_at = ?
       WHERE dwelling_id = ? AND recipient_id = ? AND state = 'waiting'`,
    ).run(at, dwellingId, recipientId);
  };

  return {
    async recipients(dwellingId) {
      return listRecipients(db, dwellingId);
    },

    async digestDwellings() {
      return db
        .prepare<[], number>('SELECT DISTINCT dwelling_id FROM recipient WHERE daily_digest = 1 ORDER BY dwelling_id')
        .pluck()
        .all();
    },

    async addRecipient(recipient) {
      checkRecipient(recipient);
      return write(db, () => {
        requireDwelling(db, recipient.dwellingId);
        const whole = { ...recipient, id: nextId(recipient.dwellingId, 'recipient') };
        insertRow(db, 'recipient', recipientColumns, toRecipientRow(whole));
        return whole;
      });
    },

    async changeRecipient(dwellingId, id, change, at) {
      wholeTime('at', at);
      return write(db, () => {
        const after = merge(findRecipient(db, dwellingId, id), change);
        checkRecipient(after);
        updateRow(db, 'recipient', recipientColumns, toRecipientRow(after));
        if (!mayBeSentTo(after)) withdrawWaiting(dwellingId, id, at);
        return after;
      });
    },

    async removeRecipient(dwellingId, id) {
      write(db, () => removeRow(db, 'recipient', dwellingId, id));
    },

    async addMessages(messages) {
      return write(db, () => insertMessages(db, messages));
    },

    async claimDue(now, claimedUntil, limit) {
      wholeTime('now', now);
      wholeTime('claimedUntil', claimedUntil);
      wholeLimit(limit);
      return write(db, () =>
        db
          .prepare<[number, number], { dwellingId: number; id: string }>(
            `SELECT m.dwelling_id AS dwellingId, m.id FROM recipient r JOIN outbox m ON m.dwelling_id = r.dwelling_id AND m.turn = ${firstTurn}
             WHERE m.next_at <= ? ORDER BY m.next_at, m.dwelling_id, m.turn LIMIT ?`,
          )
          .all(now, limit)
          .map(({ dwellingId, id }) => claim(dwellingId, id, now, claimedUntil)),
      );
    },

    async claimNew(message, claimedUntil) {
      wholeTime('claimedUntil', claimedUntil);
      return write(db, () => {
        findRecipient(db, message.dwellingId, message.recipientId);
        if (insertMessages(db, [message]) === 0) {
          throw new StoreError('already-there', `There is a message ${message.id} already.`);
        }
        return claim(message.dwellingId, message.id, message.createdAt, claimedUntil);
      });
    },

    async finishAttempt(dwellingId, id, attempt, end, at) {
      wholeTime('at', at);
      return write(db, () => {
        db.prepare(
          `UPDATE delivery_attempt SET ended_at = ?, outcome = ?, code = ?, detail = ?
           WHERE dwelling_id = ? AND message_id = ? AND number = ? AND ended_at IS NULL`,
        ).run(at, outcomeOf(end), end.code, end.detail, dwellingId, id, attempt);
        const delivery = findDelivery(dwellingId, id);
        if (delivery === null || delivery.attempts !== attempt || delivery.state !== 'sending') return false;
        const wanted = mayBeSentTo(findRecipient(db, dwellingId, delivery.recipientId));
        const state = stateAfter(end, wanted);
        const waits = state === 'waiting';
        db.prepare('UPDATE outbox SET state = ?, next_at = ?, finished_at = ? WHERE dwelling_id = ? AND id = ?').run(
          state,
          end.kind === 'again' ? wholeTime('nextAt', end.nextAt) : delivery.nextAt,
          waits ? null : at,
          dwellingId,
          id,
        );
        return true;
      });
    },

    async nextDue() {
      return db
        .prepare<[], number | null>(
          `SELECT min(m.next_at) FROM recipient r JOIN outbox m ON m.dwelling_id = r.dwelling_id AND m.turn = ${firstTurn}`,
        )
        .pluck()
        .get() as number | null;
    },

    async retryMessage(dwellingId, id, now) {
      wholeTime('now', now);
      return write(db, () => {
        const delivery = findDelivery(dwellingId, id);
        if (delivery === null) throw new StoreError('not-found', `Dwelling ${dwellingId} has no message ${id}.`);
        if (delivery.state !== 'given-up') return delivery;
        db.prepare(
          `UPDATE outbox SET state = 'waiting', attempts_in_row = 0, trying_since = NULL, next_at = ?, finished_at = NULL
           WHERE dwelling_id = ? AND id = ?`,
        ).run(now, dwellingId, id);
        return findDelivery(dwellingId, id)!;
      });
    },

    async deliveries(dwellingId, { recipientId, states = deliveryStates }, limit) {
      requireDwelling(db, dwellingId);
      wholeLimit(limit);
      const wanted = states.map((state) => oneOf('state', state, deliveryStates));
      return db
        .prepare<[number, number | null, number | null, string, number], DeliveryRow>(
          `SELECT ${selectList({ ...deliveryColumns })} FROM outbox
           WHERE dwelling_id = ? AND (? IS NULL OR recipient_id = ?) AND state IN (SELECT value FROM json_each(?))
           ORDER BY turn DESC LIMIT ?`,
        )
        .all(dwellingId, recipientId ?? null, recipientId ?? null, JSON.stringify(wanted), limit)
        .map(toDelivery);
    },

    async deliveryAttempts(dwellingId, messageIds) {
      return db
        .prepare<[number, string], DeliveryAttempt>(
          `SELECT ${selectList({ ...attemptColumns })} FROM delivery_attempt
           WHERE dwelling_id = ? AND message_id IN (SELECT value FROM json_each(?))
           ORDER BY message_id, number`,
        )
        .all(dwellingId, JSON.stringify(messageIds));
    },

    async countDeliveries(dwellingId) {
      requireDwelling(db, dwellingId);
      return countByState(
        db
          .prepare<[number], [DeliveryState, number]>(
            'SELECT state, count(*) FROM outbox WHERE dwelling_id = ? GROUP BY state',
          )
          .raw()
          .all(dwellingId),
      );
    },

    async countWaiting() {
      return db.prepare<[], number>("SELECT count(*) FROM outbox WHERE state = 'waiting'").pluck().get()!;
    },

    async forgetFinished(before) {
      wholeTime('before', before);
      return write(
        db,
        () =>
          db
            .prepare("DELETE FROM outbox WHERE state IN ('sent', 'given-up', 'withdrawn') AND finished_at < ?")
            .run(before).changes,
      );
    },

    async installationKey() {
      return write(db, () => {
        db.prepare('INSERT INTO installation (id, secret_key) VALUES (1, ?) ON CONFLICT DO NOTHING').run(
          randomBytes(32),
        );
        return db.prepare<[], Uint8Array>('SELECT secret_key FROM installation').pluck().get()!;
      });
    },
  };
}

/** The message of a recipient `r` that is sent next: one being sent comes before those that wait. */
const firstTurn = `
  (SELECT turn FROM outbox o
   WHERE o.dwelling_id = r.dwelling_id AND o.recipient_id = r.id AND o.state IN ('sending', 'waiting')
   ORDER BY o.state, o.not_before, o.turn LIMIT 1)`;
