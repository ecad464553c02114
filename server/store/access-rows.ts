import { filled, oneOf, wholeTime } from './arguments.ts';
import { type DeviceAccount, type New, type Person, roles, type Session, StoreError, type TrailEntry } from './port.ts';
import type { Columns } from './row-columns.ts';

export const personColumns: Columns<Person> = {
  id: 'id',
  name: 'name',
  role: 'role',
  passphraseHash: 'passphrase_hash',
  createdAt: 'created_at',
};

export const sessionColumns: Columns<Session> = {
  id: 'id',
  personId: 'person_id',
  tokenHash: 'token_hash',
  previousHash: 'previous_hash',
  startedAt: 'started_at',
  rotatedAt: 'rotated_at',
  usedAt: 'used_at',
  browser: 'browser',
};

export const accountColumns: Columns<DeviceAccount> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  username: 'username',
  passwordHash: 'password_hash',
  sensorKey: 'sensor_key',
  createdAt: 'created_at',
  revokedAt: 'revoked_at',
};

export interface TrailRow {
  readonly id: number;
  readonly at: number;
  readonly personName: string | null;
  readonly dwellingId: number | null;
  readonly action: string;
  readonly detail: string;
}

export const trailColumns: Columns<TrailRow> = {
  id: 'id',
  at: 'at',
  personName: 'person_name',
  dwellingId: 'dwelling_id',
  action: 'action',
  detail: 'detail',
};

export const toTrailEntry = (row: TrailRow): TrailEntry => ({
  ...row,
  detail: JSON.parse(row.detail) as TrailEntry['detail'],
});

export function checkPerson({ name, role, passphraseHash, createdAt }: New<Person>): void {
  filled('name', name);
  filled('passphraseHash', passphraseHash);
  oneOf('role', role, roles);
  wholeTime('createdAt', createdAt);
}

export function findPerson(people: readonly Person[], id: number): Person {
  const person = people.find((one) => one.id === id);
  if (person === undefined) throw new StoreError('not-found', `There is no person ${id}.`);
  return person;
}

/** @throws StoreError `already-there` when somebody has that name, in whatever case */
/** What whoever wants to set the first passphrase is told, when it was set before. */
export const FIRST_IS_THERE = 'There is a passphrase already: sign in, and change it there.';

export function refuseNameTaken(people: readonly Person[], wanted: string): void {
  if (people.every(({ name }) => name.toLowerCase() !== wanted.toLowerCase())) return;
  throw new StoreError('already-there', `There is somebody called ${wanted} already.`);
}

export function refuseFirst(people: readonly Person[]): void {
  if (people.length === 0) return;
  throw new StoreError('already-there', FIRST_IS_THERE);
}

/** @throws RangeError when nobody would be left who may do everything */
export function refuseLastOwner(people: readonly Person[], leaving: Person): void {
  if (leaving.role !== 'owner' || people.filter(({ role }) => role === 'owner').length > 1) return;
  throw new RangeError(`${leaving.name} is the only owner; make somebody else an owner first`);
}

export const accountTaken = (username: string): StoreError =>
  new StoreError('already-there', `There is a device account ${username} already.`);
