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
import { type Connection, write } from './database.ts';

/** Keeps one message. To be called inside the transaction of its batch. */
export function quarantineWriter(db: Connection): (message: QuarantinedMessage) => void {
  const insert = db.prepare(
    'INSERT INTO quarantine (received_at, source, topic, payload, code, message) VALUES (?, ?, ?, ?, ?, ?)',
  );
  return ({ receivedAt, source, topic, payload, code, message }) => {
    insert.run(wholeTime('receivedAt', receivedAt), source, topic, Buffer.from(payload), code, message);
  };
}

/** Marks one message as read in. To be called inside the transaction of its batch. */
export function quarantineResolver(db: Connection): (message: ResolvedMessage) => void {
  const update = db.prepare('UPDATE quarantine SET resolved_at = ? WHERE id = ? AND resolved_at IS NULL');
  return ({ id, at }) => {
    update.run(wholeTime('at', at), id);
  };
}

/** Counts messages that were not kept. To be called inside the transaction of their batch. */
export function notKeptCounter(db: Connection): (counted: NotKept) => void {
  const count = db.prepare(
    `INSERT INTO quarantine_not_kept (sender, messages, first_at, last_at) VALUES (?, ?, ?, ?)
     ON CONFLICT (sender) DO UPDATE SET messages = messages + excluded.messages, last_at = max(last_at, excluded.last_at)`,
  );
  return ({ sender, messages, firstAt, lastAt }) => {
    count.run(sender, messages, wholeTime('firstAt', firstAt), wholeTime('lastAt', lastAt));
  };
}

const columns = `id, received_at AS "receivedAt", source, topic, payload, code, message, resolved_at AS "resolvedAt"`;

export function quarantineStore(db: Connection): QuarantineStore {
  return {
    async quarantineSizes() {
      return db
        .prepare<[], QuarantineSize>(
          `SELECT topic, count(*) AS messages, sum(length(payload)) AS bytes FROM quarantine
           WHERE resolved_at IS NULL GROUP BY topic ORDER BY topic`,
        )
        .all();
    },

    async lastQuarantinedId() {
      return db.prepare<[], number>('SELECT coalesce(max(id), 0) FROM quarantine').pluck().get()!;
    },

    async quarantineNotKept() {
      return db
        .prepare<[], NotKept>(
          `SELECT sender, messages, first_at AS "firstAt", last_at AS "lastAt" FROM quarantine_not_kept
           ORDER BY messages DESC, sender`,
        )
        .all();
    },

    async removeQuarantined(limit) {
      const most = wholeLimit(limit);
      return write(db, () => {
        const { changes } = db
          .prepare(
            'DELETE FROM quarantine WHERE id IN (SELECT id FROM quarantine WHERE resolved_at IS NULL ORDER BY id LIMIT ?)',
          )
          .run(most);
        if (changes < most) db.prepare('DELETE FROM quarantine_not_kept').run();
        return changes;
      });
    },

    async quarantineGroups(limit) {
      return db
        .prepare<[number], QuarantineGroup>(
          `SELECT last.topic, last.code, last.message, grouped.count, grouped.first_at AS "firstAt",
             grouped.last_at AS "lastAt", coalesce(substr(last.payload, 1, ${GROUP_PAYLOAD_BYTES}), x'') AS "lastPayload"
           FROM (SELECT max(id) AS id, count(*) AS count, min(received_at) AS first_at, max(received_at) AS last_at
                 FROM quarantine WHERE resolved_at IS NULL GROUP BY topic, code) AS grouped
           JOIN quarantine AS last USING (id) ORDER BY last.id DESC LIMIT ?`,
        )
        .all(wholeLimit(limit));
    },

    async quarantined(topic, limit) {
      return db
        .prepare<[string, number], QuarantineRow>(
          `SELECT ${columns} FROM quarantine WHERE topic = ? ORDER BY id DESC LIMIT ?`,
        )
        .all(topic, wholeLimit(limit));
    },

    async countQuarantined() {
      return db.prepare<[], number>('SELECT count(*) FROM quarantine WHERE resolved_at IS NULL').pluck().get()!;
    },

    async unresolvedTopics(after, limit) {
      return db
        .prepare<[string, number], string>(
          'SELECT DISTINCT topic FROM quarantine WHERE resolved_at IS NULL AND topic > ? ORDER BY topic LIMIT ?',
        )
        .pluck()
        .all(after, wholeLimit(limit));
    },

    async unresolved(topic, afterId, limit) {
      const rows: QuarantineRow[] = [];
      let bytes = 0;
      const found = db
        .prepare<[string, number, number], QuarantineRow>(
          `SELECT ${columns} FROM quarantine WHERE resolved_at IS NULL AND topic = ? AND id > ? ORDER BY id LIMIT ?`,
        )
        .iterate(topic, afterId, wholeLimit(limit));
      for (const row of found) {
        bytes += row.payload.byteLength;
        if (rows.length > 0 && bytes > PAGE_BYTES) break;
        rows.push(row);
      }
      return rows;
    },
  };
}
