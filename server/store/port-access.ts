import type { New } from './port-rows.ts';

/**
 * What a person may do. An owner may do everything; a member of the household reads, writes the diary and answers
 * notices, but changes neither the story of the works nor who has access. A landlord sees of each home what its household
 * has agreed to, and changes nothing.
 */
export const roles = ['owner', 'household', 'landlord'] as const;
export type Role = (typeof roles)[number];

/** Somebody who signs in. They are of the whole install, not of one dwelling. */
export interface Person {
  readonly id: number;
  /** what they sign in as; compared without regard to case */
  readonly name: string;
  readonly role: Role;
  /** as `access/passphrase.ts` writes it, with its own salt and cost */
  readonly passphraseHash: string;
  readonly createdAt: number;
}

/** A page that is signed in. The token itself is known to the browser alone. */
export interface Session {
  readonly id: number;
  readonly personId: number;
  /** SHA-256 of the token, hexadecimal */
  readonly tokenHash: string;
  /** SHA-256 of the token before it was last changed: a request under way at that moment still holds it; null: none */
  readonly previousHash: string | null;
  readonly startedAt: number;
  readonly rotatedAt: number;
  readonly usedAt: number;
  /** what the browser says it is, for its owner to know it again */
  readonly browser: string;
}

/** One line of the trail of what people did; never changed, never removed. */
export interface TrailEntry {
  readonly id: number;
  readonly at: number;
  /** null: nobody is signed in, or there is no passphrase yet */
  readonly personName: string | null;
  readonly dwellingId: number | null;
  readonly action: string;
  /** names and numbers of what it was done to; never a secret */
  readonly detail: Readonly<Record<string, unknown>>;
}

/** Name and password a device publishes with. The password is random, so that a plain digest keeps it. */
export interface DeviceAccount {
  readonly id: number;
  readonly dwellingId: number;
  readonly username: string;
  /** SHA-256, hexadecimal */
  readonly passwordHash: string;
  /** it may publish as this sensor alone; null: as any sensor of the dwelling */
  readonly sensorKey: string | null;
  readonly createdAt: number;
  /** null: in use */
  readonly revokedAt: number | null;
}

export interface AccessStore {
  /** In order of id. */
  people(): Promise<Person[]>;
  /** @throws StoreError `already-there` when the name is taken */
  addPerson(person: Omit<Person, 'id'>): Promise<Person>;
  /** The one with whom signing in begins. @throws StoreError `already-there` when there is anybody, whoever was quicker */
  addFirstPerson(person: Omit<Person, 'id'>): Promise<Person>;
  /** Also ends every session of theirs but `keepSessionId`. */
  changePassphrase(personId: number, passphraseHash: string, keepSessionId: number | null): Promise<void>;
  /** Removes a person and their sessions. @throws StoreError `not-found`; RangeError for the last owner */
  removePerson(id: number): Promise<void>;

  sessions(): Promise<Session[]>;
  addSession(session: Omit<Session, 'id'>): Promise<Session>;
  /** By the digest of its token, or of the one before. */
  findSession(tokenHash: string): Promise<Session | null>;
  /** Records a use, and a changed token. */
  touchSession(id: number, change: Pick<Session, 'tokenHash' | 'previousHash' | 'rotatedAt' | 'usedAt'>): Promise<void>;
  removeSession(id: number): Promise<void>;
  /** Removes sessions last used before a time or begun before another. */
  removeOldSessions(usedBefore: number, startedBefore: number): Promise<void>;

  recordTrail(entry: Omit<TrailEntry, 'id'>): Promise<void>;
  /** The last entries, newest first, older than `beforeId` where it is given. */
  trail(limit: number, beforeId?: number): Promise<TrailEntry[]>;

  /** Of all dwellings, revoked ones too. */
  deviceAccounts(): Promise<DeviceAccount[]>;
  /** @throws StoreError `already-there` when the user name is taken in any dwelling */
  addDeviceAccount(account: New<DeviceAccount>): Promise<DeviceAccount>;
  revokeDeviceAccount(dwellingId: number, id: number, at: number): Promise<DeviceAccount>;
}
