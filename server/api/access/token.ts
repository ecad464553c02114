import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';

/** 256 random bits for an address or a cookie. */
export const newToken = (): string => randomBytes(32).toString('base64url');

/** Hexadecimal SHA-256: enough for what is random, and all that is kept of it. */
export const digestOf = (token: string | Uint8Array): string => createHash('sha256').update(token).digest('hex');

/** Whether two digests are the same, in a time that tells nothing. */
export const sameDigest = (one: string, other: string): boolean =>
  one.length === other.length && timingSafeEqual(Buffer.from(one), Buffer.from(other));
