import {
  accountColumns,
  accountTaken,
  checkPerson,
  findPerson,
  personColumns,
  refuseFirst,
  refuseLastOwner,
  refuseNameTaken,
  sessionColumns,
  type TrailRow,
  toTrailEntry,
  trailColumns,
} from '../access-rows.ts';
import { filled, wholeLimit, wholeTime } from '../arguments.ts';
import type { AccessStore, DeviceAccount, Person, Session } from '../port.ts';
import { selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, requireDwelling, updateRow } from './rows.ts';

export function accessStore(db: Connection): AccessStore {
  const nextId = idGiver(db);
  const people = db.prepare<[], Person>(`SELECT ${selectList(personColumns)} FROM person ORDER BY id`);
  const sessions = db.prepare<[], Session>(`SELECT ${selectList(sessionColumns)} FROM session ORDER BY id`);
  const byToken = db.prepare<[string, string], Session>(
    `SELECT ${selectList(sessionColumns)} FROM session WHERE token_hash = ? OR previous_hash = ?`,
  );
  const touch = db.prepare(
    'UPDATE session SET token_hash = ?, previous_hash = ?, rotated_at = ?, used_at = ? WHERE id = ?',
  );
  const record = db.prepare('INSERT INTO trail (at, person_name, dwelling_id, action, detail) VALUES (?, ?, ?, ?, ?)');
  const lastTrail = db.prepare<[number, number], TrailRow>(
    `SELECT ${selectList({ ...trailColumns })} FROM trail WHERE id < ? ORDER BY id DESC LIMIT ?`,
  );
  async function addPerson(person: Omit<Person, 'id'>, refuse: (people: readonly Person[]) => void): Promise<Person> {
    checkPerson(person);
    return write(db, () => {
      refuse(people.all());
      const { lastInsertRowid } = db
        .prepare('INSERT INTO person (name, role, passphrase_hash, created_at) VALUES (?, ?, ?, ?)')
        .run(person.name, person.role, person.passphraseHash, person.createdAt);
      return { ...person, id: Number(lastInsertRowid) };
    });
  }

  return {
    async people() {
      return people.all();
    },
    addPerson: (person) => addPerson(person, (everybody) => refuseNameTaken(everybody, person.name)),
    addFirstPerson: (person) => addPerson(person, refuseFirst),
    async changePassphrase(personId, passphraseHash, keepSessionId) {
      filled('passphraseHash', passphraseHash);
      write(db, () => {
        findPerson(people.all(), personId);
        db.prepare('UPDATE person SET passphrase_hash = ? WHERE id = ?').run(passphraseHash, personId);
        db.prepare('DELETE FROM session WHERE person_id = ? AND id IS NOT ?').run(personId, keepSessionId);
      });
    },
    async removePerson(id) {
      write(db, () => {
        const everybody = people.all();
        refuseLastOwner(everybody, findPerson(everybody, id));
        db.prepare('DELETE FROM session WHERE person_id = ?').run(id);
        db.prepare('DELETE FROM person WHERE id = ?').run(id);
      });
    },

    async sessions() {
      return sessions.all();
    },
    async addSession(session) {
      filled('tokenHash', session.tokenHash);
      return write(db, () => {
        const { personId, tokenHash, previousHash, startedAt, rotatedAt, usedAt, browser } = session;
        const { lastInsertRowid } = db
          .prepare(
            `INSERT INTO session (person_id, token_hash, previous_hash, started_at, rotated_at, used_at, browser)
             VALUES (?, ?, ?, ?, ?, ?, ?)`,
          )
          .run(personId, tokenHash, previousHash, startedAt, rotatedAt, usedAt, browser);
        return { ...session, id: Number(lastInsertRowid) };
      });
    },
    async findSession(tokenHash) {
      return byToken.get(tokenHash, tokenHash) ?? null;
    },
    async touchSession(id, { tokenHash, previousHash, rotatedAt, usedAt }) {
      write(db, () => touch.run(tokenHash, previousHash, rotatedAt, usedAt, id));
    },
    async removeSession(id) {
      write(db, () => db.prepare('DELETE FROM session WHERE id = ?').run(id));
    },
    async removeOldSessions(usedBefore, startedBefore) {
      write(db, () =>
        db.prepare('DELETE FROM session WHERE used_at < ? OR started_at < ?').run(usedBefore, startedBefore),
      );
    },

    async recordTrail({ at, personName, dwellingId, action, detail }) {
      filled('action', action);
      write(db, () => record.run(wholeTime('at', at), personName, dwellingId, action, JSON.stringify(detail)));
    },
    async trail(limit, beforeId = Number.MAX_SAFE_INTEGER) {
      return lastTrail.all(beforeId, wholeLimit(limit)).map(toTrailEntry);
    },

    async deviceAccounts() {
      return db
        .prepare<[], DeviceAccount>(`SELECT ${selectList(accountColumns)} FROM device_account ORDER BY dwelling_id, id`)
        .all();
    },
    async addDeviceAccount(account) {
      filled('username', account.username);
      filled('passwordHash', account.passwordHash);
      return write(db, () => {
        requireDwelling(db, account.dwellingId);
        if (db.prepare('SELECT 1 FROM device_account WHERE username = ?').get(account.username) !== undefined) {
          throw accountTaken(account.username);
        }
        const added = { ...account, id: nextId(account.dwellingId, 'device_account') };
        insertRow(db, 'device_account', accountColumns, added);
        return added;
      });
    },
    async revokeDeviceAccount(dwellingId, id, at) {
      return write(db, () => {
        const account = findRow(db, 'device_account', accountColumns, dwellingId, id);
        const revoked = { ...account, revokedAt: account.revokedAt ?? wholeTime('at', at) };
        updateRow(db, 'device_account', accountColumns, revoked);
        return revoked;
      });
    },
  };
}
