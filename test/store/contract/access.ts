import { describe, expect, test } from 'vitest';
import type { Person, Session } from '../../../server/store/port.ts';
import { DAY, givenDwelling, HOUR, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

const somebody = (name: string, change: Partial<Person> = {}): Omit<Person, 'id'> => ({
  name,
  role: 'owner',
  passphraseHash: 'scrypt$…',
  createdAt: NEW_YEAR,
  ...change,
});

const sessionOf = ({ id }: Person, tokenHash: string, change: Partial<Session> = {}): Omit<Session, 'id'> => ({
  personId: id,
  tokenHash,
  previousHash: null,
  startedAt: NEW_YEAR,
  rotatedAt: NEW_YEAR,
  usedAt: NEW_YEAR,
  browser: 'a browser',
  ...change,
});

export function accessContract(given: UnderTest): void {
  describe('keeps who may come in', () => {
    test('a person added is there after opening again, and the name is taken whatever its case', async () => {
      const ada = await given.store.addPerson(somebody('Ada'));
      await given.reopen();
      expect(await given.store.people()).toEqual([ada]);
      await expect(given.store.addPerson(somebody('ADA'))).rejects.toMatchObject({ fault: 'already-there' });
    });

    test('the last owner cannot be removed, a second one can', async () => {
      const ada = await given.store.addPerson(somebody('Ada'));
      const ben = await given.store.addPerson(somebody('Ben', { role: 'household' }));
      await expect(given.store.removePerson(ada.id)).rejects.toThrow(RangeError);
      const cy = await given.store.addPerson(somebody('Cy'));
      await given.store.removePerson(ada.id);
      expect((await given.store.people()).map(({ name }) => name)).toEqual([ben.name, cy.name]);
      await expect(given.store.removePerson(ada.id)).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('two processes that set the first passphrase at once make one owner, and later there is no first', async () => {
      const other = await given.another();
      const firsts = await Promise.allSettled([
        given.store.addFirstPerson(somebody('Ada')),
        other.addFirstPerson(somebody('Ben')),
        other.addFirstPerson(somebody('Cy')),
      ]);
      expect(firsts.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected', 'rejected']);
      for (const one of firsts) {
        if (one.status === 'rejected') expect(one.reason).toMatchObject({ fault: 'already-there' });
      }
      expect(await given.store.people()).toHaveLength(1);
      await expect(given.store.addFirstPerson(somebody('Dee'))).rejects.toMatchObject({ fault: 'already-there' });
      await given.store.addPerson(somebody('Dee'));
      expect(await other.people()).toHaveLength(2);
    });

    test('two processes that remove the last two owners at once leave one, and a name is given once', async () => {
      const [ada, ben] = [await given.store.addPerson(somebody('Ada')), await given.store.addPerson(somebody('Ben'))];
      const other = await given.another();
      const removals = await Promise.allSettled([given.store.removePerson(ada.id), other.removePerson(ben.id)]);
      expect(removals.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
      const additions = await Promise.allSettled([
        given.store.addPerson(somebody('Zoë')),
        other.addPerson(somebody('ZOË')),
      ]);
      expect(additions.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
      expect(await other.people()).toHaveLength(2);
    });

    test('a changed passphrase ends every session but the one it was changed in', async () => {
      const ada = await given.store.addPerson(somebody('Ada'));
      const here = await given.store.addSession(sessionOf(ada, 'aa'));
      await given.store.addSession(sessionOf(ada, 'bb'));
      await given.store.changePassphrase(ada.id, 'scrypt$new', here.id);
      expect(await given.store.sessions()).toEqual([here]);
      expect((await given.store.people())[0]!.passphraseHash).toBe('scrypt$new');
      await given.store.changePassphrase(ada.id, 'scrypt$newer', null);
      expect(await given.store.sessions()).toEqual([]);
    });

    test('a removed person has no session left', async () => {
      await given.store.addPerson(somebody('Ada'));
      const ben = await given.store.addPerson(somebody('Ben'));
      await given.store.addSession(sessionOf(ben, 'bb'));
      await given.store.removePerson(ben.id);
      expect(await given.store.findSession('bb')).toBeNull();
    });

    test('a session is found by its token and by the one before, and by no other', async () => {
      const ada = await given.store.addPerson(somebody('Ada'));
      const session = await given.store.addSession(sessionOf(ada, 'aa'));
      const change = { tokenHash: 'bb', previousHash: 'aa', rotatedAt: NEW_YEAR + DAY, usedAt: NEW_YEAR + DAY };
      await given.store.touchSession(session.id, change);
      await given.reopen();
      expect(await given.store.findSession('aa')).toEqual({ ...session, ...change });
      expect(await given.store.findSession('bb')).toEqual({ ...session, ...change });
      expect(await given.store.findSession('cc')).toBeNull();
      await given.store.touchSession(session.id, { ...change, tokenHash: 'cc', previousHash: 'bb' });
      expect(await given.store.findSession('aa')).toBeNull();
    });

    test('sessions not used for long, or begun long ago, go together', async () => {
      const ada = await given.store.addPerson(somebody('Ada'));
      await given.store.addSession(sessionOf(ada, 'idle', { usedAt: NEW_YEAR }));
      await given.store.addSession(sessionOf(ada, 'old', { startedAt: NEW_YEAR - 90 * DAY, usedAt: NEW_YEAR + DAY }));
      const kept = await given.store.addSession(sessionOf(ada, 'kept', { usedAt: NEW_YEAR + DAY }));
      await given.store.removeOldSessions(NEW_YEAR + HOUR, NEW_YEAR - 30 * DAY);
      expect(await given.store.sessions()).toEqual([kept]);
    });
  });

  describe('keeps a trail of what people did', () => {
    test('newest first, a page at a time, with what it was done to', async () => {
      for (const k of [1, 2, 3]) {
        await given.store.recordTrail({
          at: NEW_YEAR + k,
          personName: k === 1 ? null : 'Ada',
          dwellingId: null,
          action: `did-${k}`,
          detail: { k },
        });
      }
      const [third, second] = await given.store.trail(2);
      expect(third).toMatchObject({ at: NEW_YEAR + 3, personName: 'Ada', action: 'did-3', detail: { k: 3 } });
      expect(await given.store.trail(2, second!.id)).toMatchObject([{ personName: null, action: 'did-1' }]);
    });
  });

  describe('keeps what devices sign in with', () => {
    test('user names are taken across dwellings, and a revoked account stays on record', async () => {
      const home = await givenDwelling(given.store);
      const account = {
        dwellingId: home.id,
        username: 'loft-1',
        passwordHash: 'ff',
        sensorKey: 'loft',
        createdAt: NEW_YEAR,
        revokedAt: null,
      };
      const added = await given.store.addDeviceAccount(account);
      await expect(given.store.addDeviceAccount(account)).rejects.toMatchObject({ fault: 'already-there' });
      const other = await givenDwelling(given.store, 'gable-cottage');
      await expect(given.store.addDeviceAccount({ ...account, dwellingId: other.id })).rejects.toMatchObject({
        fault: 'already-there',
      });
      await given.store.revokeDeviceAccount(home.id, added.id, NEW_YEAR + DAY);
      await given.store.revokeDeviceAccount(home.id, added.id, NEW_YEAR + 2 * DAY);
      expect(await given.store.deviceAccounts()).toEqual([{ ...added, revokedAt: NEW_YEAR + DAY }]);
      await expect(given.store.revokeDeviceAccount(home.id, 99, NEW_YEAR)).rejects.toMatchObject({
        fault: 'not-found',
      });
    });
  });
}
