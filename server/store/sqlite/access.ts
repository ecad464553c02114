import { filled, oneOf, wholeLimit, wholeTime } from '../arguments.ts';
import { type AccessStore, type DeviceAccount, type Person, roles, type Session, StoreError } from '../port.ts';
import { type Columns, selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, requireDwelling, updateRow } from './rows.ts';

const personColumns: Columns<Person> = {
  id: 'id',
  name: 'name',
  role: 'role',
  passphraseHash: 'passphrase_hash',
  createdAt: 'created_at',
};

const sessionColumns: Columns<Session> = {
  id: 'id',
  personId: 'person_id',
  tokenHash: 'token_hash',
  previousHash: 'previous_hash',
  startedAt: 'started_at',
  rotatedAt: 'rotated_at',
  usedAt: 'used_at',
  browser: 'browser',
};

const accountColumns: Columns<DeviceAccount> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  username: 'username',
  passwordHash: 'password_hash',
  sensorKey: 'sensor_key',
  createdAt: 'created_at',
  revokedAt: 'revoked_at',
};

interface TrailRow {
  readonly id: number;
  readonly at: number;
  readonly personName: string | null;
  readonly dwellingId: number | null;
  readonly action: string;
  readonly detail: string;
}

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
    `SELECT id, at, person_name AS "personName", dwelling_id AS "dwellingId", action, detail
     FROM trail WHERE id < ? ORDER BY id DESC LIMIT ?`,
  );
  const findPerson = (id: number): Person => {
    const person = people.all().find((one) => one.id === id);
    if (person === undefined) throw new StoreError('not-found', `There is no person ${id}.`);
    return person;
  };

  return {
    async people() {
      return people.all();
    },
    async addPerson(person) {
      filled('name', person.name);
      filled('passphraseHash', person.passphraseHash);
      oneOf('role', person.role, roles);
      wholeTime('createdAt', person.createdAt);
      return write(db, () => {
        if (people.all().some(({ name }) => name.toLowerCase() === person.name.toLowerCase())) {
          throw new StoreError('already-there', `There is somebody called ${person.name} already.`);
        }
        const { lastInsertRowid } = db
          .prepare('INSERT INTO person (name, role, passphrase_hash, created_at) VALUES (?, ?, ?, ?)')
          .run(person.name, person.role, person.passphraseHash, person.createdAt);
        return findPerson(Number(lastInsertRowid));
      });
    },
    async changePassphrase(personId, passphraseHash, keepSessionId) {
      filled('passphraseHash', passphraseHash);
      write(db, () => {
        findPerson(personId);
        db.prepare('UPDATE person SET passphrase_hash = ? WHERE id = ?').run(passphraseHash, personId);
        db.prepare('DELETE FROM session WHERE person_id = ? AND id IS NOT ?').run(personId, keepSessionId);
      });
    },
    async removePerson(id) {
      write(db, () => {
        const person = findPerson(id);
        const owners = people.all().filter(({ role }) => role === 'owner');
        if (person.role === 'owner' && owners.length === 1) {
          throw new RangeError(`${person.name} is the only owner; make somebody else an owner first`);
        }
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
      return lastTrail
        .all(beforeId, wholeLimit(limit))
        .map((row) => ({ ...row, detail: JSON.parse(row.detail) as Record<string, unknown> }));
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
          throw new StoreError('already-there', `There is a device account ${account.username} already.`);
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
