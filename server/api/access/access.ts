import type { Request, Response } from 'express';
import type { Reach } from '../../analysis/portfolio/vocabulary.ts';
import { type Account, signIn } from '../../ingest/account.ts';
import { type DeviceAccount, type Person, type Session, type Store, StoreError } from '../../store/port.ts';
import { passphraseFits } from './passphrase.ts';
import { digestOf, newToken, sameDigest } from './token.ts';
import type { Actor, Visit } from './visit.ts';

const MINUTE = 60_000;
const DAY = 24 * 60 * MINUTE;

export const accessSettings = Object.freeze({
  /** a session that is not used for so long ends, days */
  idleDays: 30,
  /** a session ends after so long in any case, days */
  longestDays: 180,
  /** its token is changed so often, hours; the one before still holds for a minute */
  rotateHours: 24,
  /** a use is written down at most so often, minutes: every write wears the card of a small computer */
  noteUseMinutes: 10,
});

/** Passphrases tried at a time and waiting: each takes 32 MiB and most of a second of a small computer. */
const MOST_WAITING = 8;

export type SignIn =
  | { readonly kind: 'in'; readonly person: Person; readonly token: string; readonly session: Session }
  | { readonly kind: 'refused' }
  | { readonly kind: 'busy' };

/** Who is who: people by their session, devices by their account. Knows no routes. */
export interface Access {
  /** true once somebody has a passphrase: from then on one has to sign in */
  isGuarded(): boolean;
  visit(request: Request, response: Response): Promise<Visit>;
  signIn(name: string, passphrase: string, browser: string): Promise<SignIn>;
  /** Starts a session for a person whose passphrase was just set. */
  begin(person: Person, browser: string): Promise<{ token: string; session: Session }>;
  /** Whether it is theirs; null when too many are being tried at this moment. */
  fits(person: Person, passphrase: string): Promise<boolean | null>;
  /** Ends a session, wherever it is open. */
  end(sessionId: number): Promise<void>;
  /** Reads people and devices again after a change. */
  reload(): Promise<void>;
  /** What happens when a session ends, so that streams of it can be closed. */
  onEnded(listener: (sessionId: number) => void): void;
  devices(): readonly DeviceAccount[];
  /** Accounts in use as the broker takes them: each publishes as itself and listens to the states of its dwelling. */
  deviceTopics(): Account[];
}

/** The cookie's name: with TLS no other host or path may set it for us (RFC 6265bis, 4.1.3.2). */
export const cookieName = (secure: boolean): string => (secure ? '__Host-coomb-session' : 'coomb-session');

export async function createAccess(store: Store, clock: () => number, settings = accessSettings): Promise<Access> {
  let people: readonly Person[] = [];
  let reaches: ReadonlyMap<number, Reach> = new Map();
  let accounts: readonly DeviceAccount[] = [];
  let slugs: ReadonlyMap<number, string> = new Map();
  const listeners: ((sessionId: number) => void)[] = [];
  let trying: Promise<unknown> = Promise.resolve();
  let waiting = 0;
  /** tried in place of a passphrase when nobody has that name, so that the time taken tells nothing */
  let nobody: string | null = null;

  const ended = (sessionId: number): void => {
    for (const listener of listeners) listener(sessionId);
  };
  const reload = async (): Promise<void> => {
    people = await store.people();
    reaches = await store.reaches();
    accounts = await store.deviceAccounts();
    slugs = new Map((await store.dwellings()).map(({ id, slug }) => [id, slug]));
  };
  await reload();
  await store.removeOldSessions(clock() - settings.idleDays * DAY, clock() - settings.longestDays * DAY);

  /** One passphrase after the other. */
  async function tryOne(passphrase: string, hash: string): Promise<boolean | null> {
    if (waiting >= MOST_WAITING) return null;
    waiting++;
    const mine = trying.then(() => passphraseFits(passphrase, hash));
    trying = mine.catch(() => undefined);
    try {
      return await mine;
    } finally {
      waiting--;
    }
  }

  async function begin(person: Person, browser: string): Promise<{ token: string; session: Session }> {
    const token = newToken();
    const now = clock();
    const session = await store.addSession({
      personId: person.id,
      tokenHash: digestOf(token),
      previousHash: null,
      startedAt: now,
      rotatedAt: now,
      usedAt: now,
      browser: browser.slice(0, 200),
    });
    return { token, session };
  }

  async function end(sessionId: number): Promise<void> {
    await store.removeSession(sessionId);
    ended(sessionId);
  }

  /** Whether it could be written down. Nobody is shut out of the page because a disk is full: that is tried again. */
  const noted = (...touch: Parameters<Store['touchSession']>): Promise<boolean> =>
    store.touchSession(...touch).then(
      () => true,
      (error: unknown) => {
        if (error instanceof StoreError) return false;
        throw error;
      },
    );

  /** The person of a token, with the token changed when it is due. */
  async function recognise(token: string, keepToken: (token: string | null) => void): Promise<Actor> {
    const hash = digestOf(token);
    const session = await store.findSession(hash);
    const person = session && people.find(({ id }) => id === session.personId);
    if (!session || !person) return { kind: 'stranger' };
    const now = clock();
    const over =
      now - session.usedAt > settings.idleDays * DAY ||
      now - session.startedAt > settings.longestDays * DAY ||
      (!sameDigest(session.tokenHash, hash) && now - session.rotatedAt > MINUTE);
    if (over) {
      await end(session.id);
      keepToken(null);
      return { kind: 'stranger' };
    }
    const current = sameDigest(session.tokenHash, hash);
    if (current && now - session.rotatedAt > settings.rotateHours * 60 * MINUTE) {
      const next = newToken();
      const change = { tokenHash: digestOf(next), previousHash: session.tokenHash, rotatedAt: now, usedAt: now };
      if (await noted(session.id, change)) keepToken(next);
    } else if (now - session.usedAt > settings.noteUseMinutes * MINUTE) {
      await noted(session.id, { ...session, usedAt: now });
    }
    const { id, name, role } = person;
    return { kind: 'person', id, name, role, reach: reachOf(person, reaches), session };
  }

  const inUse = (): Account[] =>
    accounts.flatMap(({ username, passwordHash, dwellingId, sensorKey, revokedAt }) => {
      const slug = slugs.get(dwellingId);
      if (revokedAt !== null || slug === undefined) return [];
      const publishes = [`coomb/${slug}/${sensorKey ?? '+'}`];
      return [{ username, passwordHash, publishes, listens: [`coomb-state/${slug}/#`] }];
    });

  function device(username: string, password: string): DeviceAccount | null {
    const account = signIn(inUse(), username, Buffer.from(password));
    return accounts.find((one) => one.username === account?.username) ?? null;
  }

  return {
    isGuarded: () => people.length > 0,
    async visit(request, response) {
      const keepToken = (token: string | null): void => {
        const secure = request.secure;
        const options = { httpOnly: true, sameSite: 'strict', secure, path: '/' } as const;
        if (token === null) response.clearCookie(cookieName(secure), options);
        else response.cookie(cookieName(secure), token, { ...options, maxAge: settings.idleDays * DAY });
      };
      const rest = {
        address: request.ip ?? 'unknown',
        browser: request.get('user-agent') ?? 'unknown',
        keepToken,
      };
      if (people.length === 0) return { ...rest, actor: { kind: 'at-the-machine' } };
      const basic = basicCredentials(request.get('authorization'));
      if (basic !== null) {
        const account = device(basic.username, basic.password);
        if (account === null) return { ...rest, actor: { kind: 'stranger' } };
        const { username, dwellingId, sensorKey } = account;
        return { ...rest, actor: { kind: 'device', username, dwellingId, sensorKey } };
      }
      const token = cookieOf(request.get('cookie'), cookieName(request.secure));
      return { ...rest, actor: token === null ? { kind: 'stranger' } : await recognise(token, keepToken) };
    },
    async signIn(name, passphrase, browser) {
      const person = people.find((one) => one.name.toLowerCase() === name.toLowerCase());
      nobody ??= people[0]?.passphraseHash ?? null;
      const hash = person?.passphraseHash ?? nobody;
      if (hash === null) return { kind: 'refused' };
      const fits = await tryOne(passphrase, hash);
      if (fits === null) return { kind: 'busy' };
      if (!fits || person === undefined) return { kind: 'refused' };
      return { kind: 'in', person, ...(await begin(person, browser)) };
    },
    begin,
    fits: (person, passphrase) => tryOne(passphrase, person.passphraseHash),
    end,
    reload,
    onEnded(listener) {
      listeners.push(listener);
    },
    devices: () => accounts,
    deviceTopics: inUse,
  };
}

/** An owner reaches every home; the household does unless homes were listed; a landlord none until it is said which. */
export function reachOf({ id, role }: Pick<Person, 'id' | 'role'>, reaches: ReadonlyMap<number, Reach>): Reach {
  if (role === 'owner') return { kind: 'all' };
  return (
    reaches.get(id) ?? (role === 'household' ? { kind: 'all' } : { kind: 'listed', dwellingIds: [], groupIds: [] })
  );
}

/** RFC 7617. */
function basicCredentials(header: string | undefined): { username: string; password: string } | null {
  const encoded = header?.match(/^Basic +([A-Za-z0-9+/=]+)$/i)?.[1];
  if (encoded === undefined) return null;
  const text = Buffer.from(encoded, 'base64').toString('utf8');
  const colon = text.indexOf(':');
  return colon < 0 ? null : { username: text.slice(0, colon), password: text.slice(colon + 1) };
}

/** RFC 6265, 4.2. */
function cookieOf(header: string | undefined, name: string): string | null {
  for (const pair of (header ?? '').split(';')) {
    const [key, value] = pair.split('=', 2);
    if (key?.trim() === name && value !== undefined) return value.trim();
  }
  return null;
}
