import { createHash, timingSafeEqual } from 'node:crypto';

/** What a device, or anything else that speaks MQTT, signs in with, and what it may do then. */
export interface Account {
  readonly username: string;
  /** SHA-256 of the password, hexadecimal: passwords of devices are random */
  readonly passwordHash: string;
  /** topic filters it may publish to, and subscribe to; null: everything */
  readonly publishes: readonly string[] | null;
  readonly listens: readonly string[] | null;
}

const digest = (text: string | Uint8Array): Buffer => createHash('sha256').update(text).digest();

/** What is kept of a device's password. */
export const passwordHash = (password: string | Uint8Array): string => digest(password).toString('hex');

/** An account that may do everything. */
export const fullAccount = (username: string, password: string): Account => ({
  username,
  passwordHash: passwordHash(password),
  publishes: null,
  listens: null,
});

/** The account of these credentials. Compares every one in full, so that the time taken tells nothing. */
export function signIn(
  accounts: readonly Account[],
  username: string | undefined,
  password: Uint8Array | undefined,
): Account | null {
  if (username === undefined || password === undefined) return null;
  const name = digest(username);
  const secret = digest(password);
  let found: Account | null = null;
  for (const account of accounts) {
    const nameFits = timingSafeEqual(digest(account.username), name);
    const secretFits = timingSafeEqual(Buffer.from(account.passwordHash, 'hex'), secret);
    if (nameFits && secretFits) found = account;
  }
  return found;
}

/** Whether everything that `filter` (or a topic) could match lies within one of the filters allowed. */
export const allows = (allowed: readonly string[] | null, filter: string): boolean =>
  allowed === null || allowed.some((one) => covers(one.split('/'), filter.split('/')));

/** @source MQTT Version 5.0, 4.7.1: `#` matches any number of levels and its parent, `+` exactly one */
function covers(wide: readonly string[], narrow: readonly string[]): boolean {
  for (const [k, level] of wide.entries()) {
    if (level === '#') return true;
    const against = narrow[k];
    if (against === undefined) return false;
    if (against === '#') return false;
    if (level !== '+' && level !== against) return false;
  }
  return wide.length === narrow.length;
}
