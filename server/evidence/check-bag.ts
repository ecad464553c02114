import { createHash, createPublicKey } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fingerprintOf, isSigned } from './key.ts';
import type { PackFault, Unpacked } from './unpack.ts';

type Complain = (fault: PackFault) => void;

/** These speak of the tag manifest and stand outside it. */
const SIGNATURE = ['signature/statement.txt', 'signature/statement.sig', 'signature/public-key.pem'];
const TAG_MANIFEST = 'tagmanifest-sha256.txt';

/**
 * Whether it is a whole and valid bag: every file is there, is listed, and is what was listed.
 *
 * @source RFC 8493: 2.1.1 bagit.txt, 2.1.3 payload manifest, 2.2.1 tag manifest, 2.2.2 Payload-Oxum, 3 complete and valid
 */
export function checkBag(pack: Unpacked, complain: Complain): void {
  const fault = (member: string | null, message: string): void => complain({ part: 'bag', member, message });
  const declaration = textOf(pack, 'bagit.txt');
  if (declaration !== 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n') {
    fault('bagit.txt', 'it does not declare a bag of version 1.0 in UTF-8');
  }
  const payload = manifestOf(pack, 'manifest-sha256.txt', fault);
  const tags = manifestOf(pack, TAG_MANIFEST, fault);
  for (const [member, digest] of [...payload, ...tags]) {
    const found = pack.digests.get(member);
    if (found === undefined) fault(member, 'it is listed and is not there');
    else if (found !== digest) fault(member, 'it is not what its manifest says: it was changed');
  }
  for (const member of payload.keys()) {
    if (!member.startsWith('data/')) fault(member, 'the payload manifest lists it, and it is no payload');
  }
  for (const member of pack.digests.keys()) {
    if (member.startsWith('data/') ? payload.has(member) : tags.has(member)) continue;
    if (member === TAG_MANIFEST || SIGNATURE.includes(member)) continue;
    fault(member, 'it is in no manifest: it was added');
  }
  const oxum = /^Payload-Oxum: (\d+)\.(\d+)$/m.exec(textOf(pack, 'bag-info.txt') ?? '');
  let bytes = 0;
  let files = 0;
  for (const [member, length] of pack.bytes) {
    if (!member.startsWith('data/')) continue;
    bytes += length;
    files += 1;
  }
  if (oxum === null || Number(oxum[1]) !== bytes || Number(oxum[2]) !== files) {
    fault('bag-info.txt', `its Payload-Oxum does not match the ${files} files of ${bytes} bytes that are there`);
  }
}

function manifestOf(
  pack: Unpacked,
  name: string,
  fault: (member: string, message: string) => void,
): ReadonlyMap<string, string> {
  const listed = new Map<string, string>();
  const text = textOf(pack, name);
  if (text === null) fault(name, 'it is missing');
  for (const [k, line] of (text ?? '').split('\n').entries()) {
    if (line === '') continue;
    const match = /^([0-9a-f]{64}) [ *](.+)$/i.exec(line);
    const [, digest, path] = match ?? [];
    if (digest === undefined || path === undefined) fault(name, `line ${k + 1} is no digest and path`);
    else if (path.startsWith('/') || path.split('/').includes('..')) fault(name, `line ${k + 1} names ${path}`);
    else if (listed.has(path)) fault(name, `it lists ${path} twice`);
    else listed.set(path, digest.toLowerCase());
  }
  return listed;
}

export interface Signing {
  /** of the key that signed; null: the signature does not hold */
  readonly fingerprint: string | null;
  readonly signedAt: string | null;
}

/** Whether the statement is signed by the key beside it, and speaks of this bag. */
export function checkSignature(pack: Unpacked, expected: string | null, complain: Complain): Signing {
  const fault = (member: string | null, message: string): void => complain({ part: 'signature', member, message });
  const missing = SIGNATURE.filter((member) => !pack.digests.has(member));
  if (missing.length > 0) {
    for (const member of missing) fault(member, 'it is missing');
    return { fingerprint: null, signedAt: null };
  }
  const [statement, signature, pem] = SIGNATURE.map((member) => readFileSync(join(pack.folder, member))) as [
    Buffer,
    Buffer,
    Buffer,
  ];
  let fingerprint: string;
  try {
    const key = createPublicKey(pem);
    if (key.asymmetricKeyType !== 'ed25519') throw new Error('it is no Ed25519 key');
    if (!isSigned(statement, signature, key)) {
      fault(
        'signature/statement.txt',
        'it was not signed by the key beside it: statement, signature or key was changed',
      );
      return { fingerprint: null, signedAt: null };
    }
    fingerprint = fingerprintOf(key);
  } catch (error) {
    fault('signature/public-key.pem', `it cannot be used: ${(error as Error).message}`);
    return { fingerprint: null, signedAt: null };
  }
  const text = statement.toString('utf8');
  const manifest = pack.digests.get(TAG_MANIFEST);
  if (/^tagmanifest-sha256\.txt: ([0-9a-f]{64})$/m.exec(text)?.[1] !== manifest) {
    fault(TAG_MANIFEST, 'it is not the one that was signed');
  }
  if (!text.includes(`signed by the key with fingerprint: ${fingerprint}\n`)) {
    fault('signature/public-key.pem', 'it is not the key that the statement names');
  }
  if (expected !== null && bare(expected) !== bare(fingerprint)) {
    fault('signature/public-key.pem', `it was signed by another key than ${expected}`);
  }
  return { fingerprint, signedAt: /^signed at[^:]*: (\S+)$/m.exec(text)?.[1] ?? null };
}

const bare = (fingerprint: string): string => fingerprint.toLowerCase().replaceAll(/[^0-9a-f]/g, '');

export function textOf({ folder, digests }: Unpacked, member: string): string | null {
  const path = join(folder, ...member.split('/'));
  return digests.has(member) && existsSync(path) ? readFileSync(path, 'utf8') : null;
}

export const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');
