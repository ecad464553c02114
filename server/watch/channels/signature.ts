import { createHmac, randomBytes } from 'node:crypto';

/**
 * Signature of a webhook delivery: HMAC-SHA256, keyed with the recipient's secret as UTF-8, over the time stamp, a full stop
 * and the body's bytes; in lower-case hex.
 *
 * @param timestamp UTC seconds since 1970, as sent beside it
 * @source RFC 2104 (HMAC), FIPS 180-4 (SHA-256)
 */
export const signatureOf = (secret: string, timestamp: number, body: string): string =>
  createHmac('sha256', secret).update(`${timestamp}.${body}`).digest('hex');

/** A new secret to sign with: 256 bits. */
export const newSecret = (): string => randomBytes(32).toString('base64url');
