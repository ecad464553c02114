import { wholeLimit, wholeTime } from '../arguments.ts';
import type {
  NotKept,
  QuarantinedMessage,
  QuarantineGroup,
  QuarantineRow,
  QuarantineSize,
  QuarantineStore,
  ResolvedMessage,
} from '../port.ts';
import { GROUP_PAYLOAD_BYTES, PAGE_BYTES } from '../quarantine-limits.ts';
import { int8s } from './arrays.ts';
import type { Database, Transaction } from './database.ts';

/** The one character that the engine takes in no text; a message that nobody understood may hold it. */
const withoutNul = (text: string): string => text.replaceAll('\0', '\uFFFD');

/** Keeps messages as they came. To be called inside the transaction of their batch. */
export async function keepQuarantined(tx: Transaction, messages: readonly QuarantinedMessage[]): Promise<void> {
  if (messages.length === 0) return;
  await tx.run(
    `INSERT INTO quarantine (received_at, source, topic, payload, code, message)
     SELECT received_at, source, topic, payload, code, message
     FROM unnest($1::bigint[], $2::text[], $3::text[], $4::bytea[], $5::text[], $6::text[])
       AS given (received_at, source, topic, payload, code, message)`,
    [
      int8s(messages.map(({ receivedAt }) => wholeTime('receivedAt', receivedAt))),
      messages.map(({ source }) => withoutNul(source)),
      messages.map(({ topic }) => withoutNul(topic)),
      messages.map(({ payload }) => Buffer.from(payload)),
      messages.map(({ code }) => code),
      messages.map(({ message }) => withoutNul(message)),
    ],
  );
}

/** Marks messages as read in. To be called inside the transaction of their batch. */
export async function resolveQuarantined(tx: Transaction, messages: readonly ResolvedMessage[]): Promise<void> {
  if (messages.length === 0) return;
  await tx.run(
    `UPDATE quarantine SET resolved_at = given.at FROM unnest($1::bigint[], $2::bigint[]) AS given (id, at)
     WHERE quarantine.id = given.id AND resolved_at IS NULL`,
    [int8s(messages.map(({ id }) => id)), int8s(messages.map(({ at }) => wholeTime('at', at)))],
  );
}

/** Counts messages that were not kept. To be called inside the transaction of their batch. */
export async function countNotKept(tx: Transaction, counts: readonly NotKept[]): Promise<void> {
  if (counts.length === 0) return;
  await tx.run(
    `INSERT INTO quarantine_not_kept (sender, messages, first_at, last_at)
     SELECT sender, messages, first_at, last_at FROM unnest($1::text[], $2::bigint[], $3::bigint[], $4::bigint[])
       AS given (sender, messages, first_at, last_at) ORDER BY sender COLLATE "C"
     ON CONFLICT (sender) DO UPDATE SET messages = quarantine_not_kept.messages + excluded.messages,
       last_at = greatest(quarantine_not_kept.last_at, excluded.last_at)`,
    [
      counts.map(({ sender }) => withoutNul(sender)),
      int8s(counts.map(({ messages }) => messages)),
      int8s(counts.map(({ firstAt }) => wholeTime('firstAt', firstAt))),
      int8s(counts.map(({ lastAt }) => wholeTime('lastAt', lastAt))),
    ],
  );
}

const columns = `id, received_at AS "receivedAt", source, topic, payload, code, message, resolved_at AS "resolvedAt"`;
/** As the index has it: topics may be longer than an index takes. */
const isTopic = 'left(topic, 500) = left($1, 500) AND topic = $1';

export function quarantineStore(db: Database): QuarantineStore {
  return {
    async quarantineSizes() {
      return db.all<QuarantineSize>(
        `SELECT topic, count(*) AS messages, sum(length(payload))::bigint AS bytes FROM quarantine
         WHERE resolved_at IS NULL GROUP BY topic ORDER BY topic`,
        [],
      );
    },

    async lastQuarantinedId() {
      const { id } = (await db.first<{ id: number }>('SELECT coalesce(max(id), 0) AS id FROM quarantine', []))!;
      return id;
    },

    async quarantineNotKept() {
      return db.all<NotKept>(
        `SELECT sender, messages, first_at AS "firstAt", last_at AS "lastAt" FROM quarantine_not_kept
         ORDER BY messages DESC, sender`,
        [],
      );
    },

    async removeQuarantined(limit) {
      const most = wholeLimit(limit);
      return db.write(async (tx) => {
        const removed = await tx.all<{ id: number }>(
          `DELETE FROM quarantine WHERE id IN
             (SELECT id FROM quarantine WHERE resolved_at IS NULL ORDER BY id LIMIT $1) RETURNING id`,
          [most],
        );
        if (removed.length < most) await tx.run('DELETE FROM quarantine_not_kept');
        return removed.length;
      });
    },

    async quarantineGroups(limit) {
      return db.all<QuarantineGroup>(
        `SELECT last.topic, last.code, last.message, grouped.count, grouped.first_at AS "firstAt",
           grouped.last_at AS "lastAt", substr(last.payload, 1, ${GROUP_PAYLOAD_BYTES}) AS "lastPayload"
         FROM (SELECT max(id) AS id, count(*) AS count, min(received_at) AS first_at, max(received_at) AS last_at
               FROM quarantine WHERE resolved_at IS NULL GROUP BY topic, code) AS grouped
         JOIN quarantine AS last USING (id) ORDER BY last.id DESC LIMIT $1`,
        [wholeLimit(limit)],
      );
    },

    async quarantined(topic, limit) {
      return db.all<QuarantineRow>(`SELECT ${columns} FROM quarantine WHERE ${isTopic} ORDER BY id DESC LIMIT $2`, [
        withoutNul(topic),
        wholeLimit(limit),
      ]);
    },

    async countQuarantined() {
      const { count } = (await db.first<{ count: number }>(
        'SELECT count(*) AS count FROM quarantine WHERE resolved_at IS NULL',
      ))!;
      return count;
    },

    async unresolvedTopics(after, limit) {
      const rows = await db.all<{ topic: string }>(
        `SELECT DISTINCT left(topic, 500), topic FROM quarantine
         WHERE resolved_at IS NULL AND left(topic, 500) >= left($1, 500) AND topic > $1
         ORDER BY left(topic, 500), topic LIMIT $2`,
        [withoutNul(after), wholeLimit(limit)],
      );
      return rows.map(({ topic }) => topic);
    },

    async unresolved(topic, afterId, limit) {
      // what the messages before a row take together decides whether it is on the page
      return db.all<QuarantineRow>(
        `SELECT ${columns} FROM (
           SELECT *, sum(length(payload)) OVER (ORDER BY id) AS bytes, row_number() OVER (ORDER BY id) AS place
           FROM (SELECT * FROM quarantine WHERE resolved_at IS NULL AND ${isTopic} AND id > $2
                 ORDER BY id LIMIT $3) AS next) AS page
         WHERE place = 1 OR bytes <= ${PAGE_BYTES} ORDER BY id`,
        [withoutNul(topic), afterId, wholeLimit(limit)],
      );
    },
  };
}
