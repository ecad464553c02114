import { createHmac, timingSafeEqual } from 'node:crypto';

/**
 * What a message is called outside: 32 hex digits, the same at every attempt. Other installations have other keys, so
 * that no two ever give the same name to different messages.
 */
export const messageKey = (key: Uint8Array, dwellingId: number, messageId: string): string =>
  createHmac('sha256', key).update(`message\n${dwellingId}\n${messageId}`).digest('hex').slice(0, 32);

/** Who a link to stop messages speaks for. */
export interface UnsubscribeLink {
  readonly dwellingId: number;
  readonly recipientId: number;
}

/** 256 bits that nobody can make without the installation's key; nothing of it is stored. */
const proof = (key: Uint8Array, { dwellingId, recipientId }: UnsubscribeLink): Buffer =>
  createHmac('sha256', key).update(`unsubscribe\n${dwellingId}\n${recipientId}`).digest();

export const unsubscribeToken = (key: Uint8Array, link: UnsubscribeLink): string =>
  `${link.dwellingId}-${link.recipientId}-${proof(key, link).toString('base64url')}`;

/** Who a token speaks for; null: it is none of ours. */
export function readUnsubscribeToken(key: Uint8Array, token: string): UnsubscribeLink | null {
  const match = /^([1-9]\d{0,14})-([1-9]\d{0,14})-([\w-]{43})$/.exec(token);
  if (match === null) return null;
  const link = { dwellingId: Number(match[1]), recipientId: Number(match[2]) };
  return timingSafeEqual(proof(key, link), Buffer.from(match[3]!, 'base64url')) ? link : null;
}
