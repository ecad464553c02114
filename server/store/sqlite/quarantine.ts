import type { QuarantinedMessage, QuarantineGroup, QuarantineRow, QuarantineStore } from '../port.ts';
import { wholeLimit, wholeTime } from './arguments.ts';
import type { Connection } from './database.ts';

/** Keeps one message. To be called inside the transaction of its batch. */
export function quarantineWriter(db: Connection): (message: QuarantinedMessage) => void {
  const insert = db.prepare(
    'INSERT INTO quarantine (received_at, source, topic, payload, code, message) VALUES (?, ?, ?, ?, ?, ?)',
  );
  return ({ receivedAt, source, topic, payload, code, message }) => {
    insert.run(wholeTime('receivedAt', receivedAt), source, topic, Buffer.from(payload), code, message);
  };
}

export function quarantineStore(db: Connection): QuarantineStore {
  return {
    async quarantineGroups(limit) {
      return db
        .prepare<[number], QuarantineGroup>(
          `SELECT last.topic, last.code, last.message, grouped.count, grouped.first_at AS "firstAt",
             grouped.last_at AS "lastAt", last.payload AS "lastPayload"
           FROM (SELECT max(id) AS id, count(*) AS count, min(received_at) AS first_at, max(received_at) AS last_at
                 FROM quarantine GROUP BY topic, code) AS grouped
           JOIN quarantine AS last USING (id) ORDER BY last.id DESC LIMIT ?`,
        )
        .all(wholeLimit(limit));
    },

    async quarantined(topic, limit) {
      return db
        .prepare<[string, number], QuarantineRow>(
          `SELECT id, received_at AS "receivedAt", source, topic, payload, code, message
           FROM quarantine WHERE topic = ? ORDER BY id DESC LIMIT ?`,
        )
        .all(topic, wholeLimit(limit));
    },

    async countQuarantined() {
      return db.prepare<[], number>('SELECT count(*) FROM quarantine').pluck().get()!;
    },
  };
}
