import {
  createHash,
  createPrivateKey,
  createPublicKey,
  generateKeyPairSync,
  type KeyObject,
  sign,
  verify,
} from 'node:crypto';
import { chmodSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Name of the key's file in the data folder. */
export const KEY_FILE = 'evidence-key.pem';

/**
 * The key with which this install signs packs: Ed25519 (RFC 8032), made when it is first needed, readable by its owner
 * alone.
 *
 * @throws RangeError where the file holds no such key
 */
export function installKey(dataFolder: string): KeyObject {
  const path = join(dataFolder, KEY_FILE);
  if (!existsSync(path)) {
    mkdirSync(dataFolder, { recursive: true });
    const { privateKey } = generateKeyPairSync('ed25519');
    try {
      writeFileSync(path, privateKey.export({ type: 'pkcs8', format: 'pem' }), { mode: 0o600, flag: 'wx' });
    } catch (error) {
      // another process made it meanwhile
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    }
  }
  chmodSync(path, 0o600);
  try {
    const key = createPrivateKey(readFileSync(path));
    if (key.asymmetricKeyType === 'ed25519') return key;
  } catch {
    // said below
  }
  throw new RangeError(
    `${path} holds no Ed25519 key: put the right file back, or move this one away and a new key is made (packs signed before keep the old one)`,
  );
}

/** SHA-256 of the public key (DER, SubjectPublicKeyInfo), in groups of four for reading out. */
export function fingerprintOf(key: KeyObject): string {
  const spki = (key.type === 'private' ? createPublicKey(key) : key).export({ type: 'spki', format: 'der' });
  const digest = createHash('sha256').update(spki).digest('hex');
  return digest.match(/.{4}/g)!.join(' ');
}

export const publicPem = (key: KeyObject): string =>
  createPublicKey(key).export({ type: 'spki', format: 'pem' }) as string;

export const signed = (text: string, key: KeyObject): Uint8Array => sign(null, Buffer.from(text), key);

export const isSigned = (text: Uint8Array, signature: Uint8Array, key: KeyObject): boolean =>
  verify(null, text, key, signature);
