import type { z } from 'zod';
import type { Reach } from '../../analysis/portfolio/vocabulary.ts';
import { passwordHash } from '../../ingest/account.ts';
import { FIRST_IS_THERE } from '../../store/access-rows.ts';
import type { DeviceAccount, Dwelling, Person, Session, Store } from '../../store/port.ts';
import type { reach as contractReach } from '../contract/portfolio.ts';
import { RequestProblem } from '../problem.ts';
import type { Handlers } from '../router.ts';
import { toInstant } from '../views.ts';
import { type Access, reachOf } from './access.ts';
import { hashPassphrase } from './passphrase.ts';
import { newToken } from './token.ts';
import { type Actor, may, nameOf, type Visit } from './visit.ts';

const TRAIL_PAGE = 100;

export interface AccessParts {
  readonly store: Store;
  readonly access: Access;
  readonly clock: () => number;
  /** device accounts changed: connections of revoked ones are to be closed */
  readonly devicesChanged: () => void;
}

type Names =
  | 'getAccess'
  | 'signIn'
  | 'signOut'
  | 'setFirstPassphrase'
  | 'changePassphrase'
  | 'listPeople'
  | 'addPerson'
  | 'resetPassphrase'
  | 'changeReach'
  | 'removePerson'
  | 'listSessions'
  | 'endSession'
  | 'listDeviceAccounts'
  | 'addDeviceAccount'
  | 'revokeDeviceAccount'
  | 'listTrail';

/** Signing in and out, people, sessions, device accounts and the trail. */
export function accessHandlers(
  { store, access, clock, devicesChanged }: AccessParts,
  dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>,
): Pick<Handlers, Names> {
  const stateOf = (actor: Actor) => ({
    guarded: access.isGuarded(),
    signedIn: actor.kind === 'person' ? { name: actor.name, role: actor.role, personId: actor.id } : null,
  });
  const signedIn = (person: Person) => ({
    guarded: true,
    signedIn: { name: person.name, role: person.role, personId: person.id },
  });
  const note = (visit: Visit, action: string, detail: Record<string, unknown>, personName = nameOf(visit.actor)) =>
    store.recordTrail({ at: clock(), personName, dwellingId: null, action, detail });

  async function personOf(id: number): Promise<Person> {
    const person = (await store.people()).find((one) => one.id === id);
    if (person === undefined) throw new RequestProblem('not-found', `There is no person ${id}.`);
    return person;
  }
  async function endSessionsOf(personId: number, but: number | null): Promise<void> {
    for (const session of await store.sessions()) {
      if (session.personId === personId && session.id !== but) await access.end(session.id);
    }
  }

  /** @throws RequestProblem naming a home or group that is not there */
  async function reachGiven(given: GivenReach): Promise<Reach> {
    if (given.kind === 'all') return given;
    const ids = new Map((await store.dwellings()).map(({ id, slug }) => [slug, id]));
    const groups = new Set((await store.groups()).map(({ id }) => id));
    const home = given.dwellings.find((slug) => !ids.has(slug));
    if (home !== undefined) throw new RequestProblem('bad-request', `There is no dwelling ${home}.`);
    const group = given.groupIds.find((id) => !groups.has(id));
    if (group !== undefined) throw new RequestProblem('bad-request', `There is no group ${group}.`);
    return { kind: 'listed', dwellingIds: given.dwellings.map((slug) => ids.get(slug)!), groupIds: given.groupIds };
  }

  async function peopleViews(people: readonly Person[]) {
    const reaches = await store.reaches();
    const slugs = new Map((await store.dwellings()).map(({ id, slug }) => [id, slug]));
    return people.map((person) => {
      const { id, name, role, createdAt } = person;
      return { id, name, role, createdAt: toInstant(createdAt), reach: reachView(reachOf(person, reaches), slugs) };
    });
  }

  return {
    async getAccess({ visit }) {
      return stateOf(visit.actor);
    },

    async signIn({ body, visit }) {
      const result = await access.signIn(body.name, body.passphrase, visit.browser);
      if (result.kind === 'busy') {
        throw new RequestProblem('too-many-tries', 'Several people are signing in at this moment; try again shortly.');
      }
      if (result.kind === 'refused') {
        await note(visit, 'sign-in-refused', { name: body.name, address: visit.address }, null);
        throw new RequestProblem('sign-in-refused', 'The name or the passphrase is not right.');
      }
      visit.keepToken(result.token);
      await note(visit, 'signed-in', { address: visit.address }, result.person.name);
      return signedIn(result.person);
    },

    async signOut({ visit }) {
      if (visit.actor.kind === 'person') {
        await note(visit, 'signed-out', {});
        await access.end(visit.actor.session.id);
      }
      visit.keepToken(null);
      return undefined;
    },

    async setFirstPassphrase({ body, visit }) {
      if (access.isGuarded()) throw new RequestProblem('already-there', FIRST_IS_THERE);
      const passphraseHash = await hashPassphrase(body.passphrase);
      const person = await store.addFirstPerson({ name: body.name, role: 'owner', passphraseHash, createdAt: clock() });
      await access.reload();
      const { token } = await access.begin(person, visit.browser);
      visit.keepToken(token);
      return signedIn(person);
    },

    async changePassphrase({ body, visit }) {
      const { actor } = visit;
      if (actor.kind !== 'person') throw new RequestProblem('not-allowed', 'Only a person has a passphrase.');
      const fits = await access.fits(await personOf(actor.id), body.current);
      if (fits === null) throw new RequestProblem('too-many-tries', 'Try again shortly.');
      if (!fits) throw new RequestProblem('sign-in-refused', 'The present passphrase is not right.');
      await endSessionsOf(actor.id, null);
      await store.changePassphrase(actor.id, await hashPassphrase(body.next), null);
      await access.reload();
      const { token } = await access.begin(await personOf(actor.id), visit.browser);
      visit.keepToken(token);
      return undefined;
    },

    async listPeople() {
      return peopleViews(await store.people());
    },

    async addPerson({ body }) {
      if (!access.isGuarded()) {
        throw new RequestProblem('not-allowed', 'Set your own passphrase first; then others can be added.');
      }
      const { name, role, passphrase } = body;
      const reach = await reachGiven(body.reach);
      const passphraseHash = await hashPassphrase(passphrase);
      const person = await store.addPerson({ name, role, passphraseHash, createdAt: clock() });
      try {
        await store.setReach(person.id, reach);
      } catch (error) {
        // nobody is to come in who reaches more than was meant
        await store.removePerson(person.id);
        throw error;
      }
      await access.reload();
      return (await peopleViews([person]))[0]!;
    },

    async changeReach({ params, body }) {
      const person = await personOf(params.id);
      if (person.role === 'owner') {
        throw new RequestProblem('bad-request', `${person.name} is an owner, and an owner sees every home.`);
      }
      await store.setReach(person.id, await reachGiven(body.reach));
      await access.reload();
      await endSessionsOf(person.id, null);
      return (await peopleViews([person]))[0]!;
    },

    async resetPassphrase({ params, body }) {
      const person = await personOf(params.id);
      await endSessionsOf(person.id, null);
      await store.changePassphrase(person.id, await hashPassphrase(body.passphrase), null);
      await access.reload();
      return undefined;
    },

    async removePerson({ params }) {
      const person = await personOf(params.id);
      const open = (await store.sessions()).filter(({ personId }) => personId === person.id);
      await store.removePerson(person.id);
      await store.setReach(person.id, null);
      await access.reload();
      for (const { id } of open) await access.end(id);
      return undefined;
    },

    async listSessions({ visit }) {
      const people = await store.people();
      const { actor } = visit;
      const mine = actor.kind === 'person' ? actor : null;
      return (await store.sessions())
        .filter(({ personId }) => may(actor, 'owner') || personId === mine?.id)
        .map((session) => sessionView(session, people, mine?.session.id ?? null));
    },

    async endSession({ params, visit }) {
      const session = (await store.sessions()).find(({ id }) => id === params.id);
      const { actor } = visit;
      const isMine = actor.kind === 'person' && session?.personId === actor.id;
      if (session === undefined || !(isMine || may(actor, 'owner'))) {
        throw new RequestProblem('not-found', `There is no session ${params.id}.`);
      }
      await access.end(session.id);
      return undefined;
    },

    async listDeviceAccounts({ params }) {
      const dwelling = await dwellingOf(params);
      return access
        .devices()
        .filter(({ dwellingId }) => dwellingId === dwelling.id)
        .map(accountView);
    },

    async addDeviceAccount({ params, body }) {
      const dwelling = await dwellingOf(params);
      const password = newToken().slice(0, 24);
      const account = await store.addDeviceAccount({
        dwellingId: dwelling.id,
        username: body.username,
        passwordHash: passwordHash(password),
        sensorKey: body.sensorKey,
        createdAt: clock(),
        revokedAt: null,
      });
      await access.reload();
      devicesChanged();
      return { ...accountView(account), password };
    },

    async revokeDeviceAccount({ params }) {
      const dwelling = await dwellingOf(params);
      const account = await store.revokeDeviceAccount(dwelling.id, params.id, clock());
      await access.reload();
      devicesChanged();
      return accountView(account);
    },

    async listTrail({ query }) {
      const dwellings = await store.dwellings();
      return (await store.trail(TRAIL_PAGE, query.before)).map(({ at, dwellingId, ...entry }) => ({
        ...entry,
        at: toInstant(at),
        dwelling: dwellings.find(({ id }) => id === dwellingId)?.slug ?? null,
      }));
    },
  };
}

type GivenReach = z.output<typeof contractReach>;

const reachView = (reach: Reach, slugs: ReadonlyMap<number, string>): GivenReach =>
  reach.kind === 'all'
    ? reach
    : {
        kind: 'listed',
        dwellings: reach.dwellingIds.flatMap((id) => slugs.get(id) ?? []),
        groupIds: [...reach.groupIds],
      };

const sessionView = (session: Session, people: readonly Person[], currentId: number | null) => ({
  id: session.id,
  personName: people.find(({ id }) => id === session.personId)?.name ?? '',
  browser: session.browser,
  startedAt: toInstant(session.startedAt),
  usedAt: toInstant(session.usedAt),
  current: session.id === currentId,
});

const accountView = ({ id, username, sensorKey, createdAt, revokedAt }: DeviceAccount) => ({
  id,
  username,
  sensorKey,
  createdAt: toInstant(createdAt),
  revokedAt: revokedAt === null ? null : toInstant(revokedAt),
});
