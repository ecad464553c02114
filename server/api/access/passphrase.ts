import { randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

/**
 * What a passphrase costs to try: 32 MiB and three passes. A stolen database is then slow to search, and a small
 * computer still signs in within a second.
 *
 * @source RFC 7914 (scrypt); parameters: one of the equal choices of OWASP's password storage guidance, from memory
 */
export const passphraseCost = Object.freeze({ N: (2 ** 15) as number, r: 8 as number, p: 3 as number });

const KEY_BYTES = 32;

/** The same letters give the same bytes however a keyboard composes them (NIST SP 800-63B, 5.1.1.2: NFKC). */
const bytesOf = (passphrase: string): Buffer => Buffer.from(passphrase.normalize('NFKC'), 'utf8');

const derive = (passphrase: string, salt: Buffer, { N, r, p }: typeof passphraseCost) =>
  new Promise<Buffer>((resolve, reject) => {
    const maxmem = 256 * N * r;
    scrypt(bytesOf(passphrase), salt, KEY_BYTES, { N, r, p, maxmem }, (error, key) =>
      error ? reject(error) : resolve(key),
    );
  });

/** `scrypt$N$r$p$salt$key`, salt and key in base64url. */
export async function hashPassphrase(passphrase: string): Promise<string> {
  const salt = randomBytes(16);
  const { N, r, p } = passphraseCost;
  const key = await derive(passphrase, salt, passphraseCost);
  return ['scrypt', N, r, p, salt.toString('base64url'), key.toString('base64url')].join('$');
}

/** Whether a passphrase is the one hashed. @throws RangeError when `hash` is not one of ours */
export async function passphraseFits(passphrase: string, hash: string): Promise<boolean> {
  const [scheme, N, r, p, salt, key] = hash.split('$');
  if (scheme !== 'scrypt' || key === undefined) throw new RangeError('the hash of a passphrase cannot be read');
  const cost = { N: Number(N), r: Number(r), p: Number(p) };
  const found = await derive(passphrase, Buffer.from(salt!, 'base64url'), cost);
  return timingSafeEqual(found, Buffer.from(key, 'base64url'));
}
