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
import { type Columns, selectList } from '../row-columns.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { nextId } from './ids.ts';
import { findRow, insertRow, isId, updateRow } from './rows.ts';

const listPeople = (db: Connection): Promise<Person[]> =>
  db.all<Person>(`SELECT ${selectList(personColumns)} FROM person ORDER BY id`);

/** Adds a row of the installation, whose id the engine gives. */
async function add<T extends { id: number }>(
  tx: Transaction,
  table: string,
  columns: Columns<T>,
  row: Omit<T, 'id'>,
): Promise<number> {
  const fields = Object.keys(columns).filter((field) => field !== 'id') as (keyof T & string)[];
  const added = await tx.first<{ id: number }>(
    `INSERT INTO ${table} (${fields.map((field) => columns[field]).join(', ')})
     VALUES (${fields.map((_, k) => `$${k + 1}`).join(', ')}) RETURNING id`,
    fields.map((field) => (row as T)[field]),
  );
  return added!.id;
}

export function accessStore(db: Database): AccessStore {
  /** Runs `work` on the people as they are; nobody else changes them before it is done. */
  const amongPeople = <T>(work: (tx: Transaction, people: Person[]) => Promise<T>): Promise<T> =>
    db.write(async (tx) => {
      await tx.run('LOCK TABLE person IN SHARE ROW EXCLUSIVE MODE');
      return work(tx, await listPeople(tx));
    });

  async function addPerson(person: Omit<Person, 'id'>, refuse: (people: readonly Person[]) => void): Promise<Person> {
    checkPerson(person);
    return amongPeople(async (tx, people) => {
      refuse(people);
      return { ...person, id: await add(tx, 'person', personColumns, person) };
    });
  }

  return {
    people: () => listPeople(db),

    addPerson: (person) => addPerson(person, (people) => refuseNameTaken(people, person.name)),
    addFirstPerson: (person) => addPerson(person, refuseFirst),

    async changePassphrase(personId, passphraseHash, keepSessionId) {
      filled('passphraseHash', passphraseHash);
      await amongPeople(async (tx, people) => {
        findPerson(people, personId);
        await tx.run('UPDATE person SET passphrase_hash = $2 WHERE id = $1', [personId, passphraseHash]);
        await tx.run('DELETE FROM session WHERE person_id = $1 AND id IS DISTINCT FROM $2', [personId, keepSessionId]);
      });
    },

    async removePerson(id) {
      await amongPeople(async (tx, people) => {
        refuseLastOwner(people, findPerson(people, id));
        await tx.run('DELETE FROM session WHERE person_id = $1', [id]);
        await tx.run('DELETE FROM person WHERE id = $1', [id]);
      });
    },

    sessions: () => db.all<Session>(`SELECT ${selectList(sessionColumns)} FROM session ORDER BY id`),

    async addSession(session) {
      filled('tokenHash', session.tokenHash);
      return db.write(async (tx) => ({ ...session, id: await add(tx, 'session', sessionColumns, session) }));
    },

    async findSession(tokenHash) {
      const found = await db.first<Session>(
        `SELECT ${selectList(sessionColumns)} FROM session WHERE token_hash = $1 OR previous_hash = $1`,
        [tokenHash],
      );
      return found ?? null;
    },

    async touchSession(id, { tokenHash, previousHash, rotatedAt, usedAt }) {
      await db.run(
        'UPDATE session SET token_hash = $2, previous_hash = $3, rotated_at = $4, used_at = $5 WHERE id = $1',
        [id, tokenHash, previousHash, rotatedAt, usedAt],
      );
    },

    async removeSession(id) {
      if (isId(id)) await db.run('DELETE FROM session WHERE id = $1', [id]);
    },

    async removeOldSessions(usedBefore, startedBefore) {
      await db.run('DELETE FROM session WHERE used_at < $1 OR started_at < $2', [usedBefore, startedBefore]);
    },

    async recordTrail({ at, personName, dwellingId, action, detail }) {
      filled('action', action);
      await db.run('INSERT INTO trail (at, person_name, dwelling_id, action, detail) VALUES ($1, $2, $3, $4, $5)', [
        wholeTime('at', at),
        personName,
        dwellingId,
        action,
        JSON.stringify(detail),
      ]);
    },

    async trail(limit, beforeId = Number.MAX_SAFE_INTEGER) {
      const rows = await db.all<TrailRow>(
        `SELECT ${selectList({ ...trailColumns })} FROM trail WHERE id < $1::bigint ORDER BY id DESC LIMIT $2`,
        [beforeId, wholeLimit(limit)],
      );
      return rows.map(toTrailEntry);
    },

    deviceAccounts: () =>
      db.all<DeviceAccount>(`SELECT ${selectList(accountColumns)} FROM device_account ORDER BY dwelling_id, id`),

    async addDeviceAccount(account) {
      filled('username', account.username);
      filled('passwordHash', account.passwordHash);
      const { dwellingId, username } = account;
      return db.inTurn(dwellingId, async (tx) => {
        const free = await tx.run(
          'INSERT INTO device_name (username, dwelling_id) VALUES ($1, $2) ON CONFLICT DO NOTHING',
          [username, dwellingId],
        );
        if (free === 0) throw accountTaken(username);
        const added = { ...account, id: await nextId(tx, dwellingId, 'device_account') };
        await insertRow(tx, 'device_account', accountColumns, added);
        return added;
      });
    },

    async revokeDeviceAccount(dwellingId, id, at) {
      return db.inTurn(dwellingId, async (tx) => {
        const account = await findRow(tx, 'device_account', accountColumns, dwellingId, id);
        const revoked = { ...account, revokedAt: account.revokedAt ?? wholeTime('at', at) };
        await updateRow(tx, 'device_account', accountColumns, revoked);
        return revoked;
      });
    },
  };
}
