import { createHash, generateKeyPairSync, type KeyObject } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import yauzl from 'yauzl';
import yazl from 'yazl';
import { statementOf } from '../../server/evidence/bag.ts';
import { publicPem, signed } from '../../server/evidence/key.ts';

/** Members of a pack by their path inside its folder. */
export type Members = Map<string, Buffer>;

const sha256 = (bytes: Buffer | string): string => createHash('sha256').update(bytes).digest('hex');

export function readMembers(file: string): Promise<Members> {
  return new Promise((resolve, reject) => {
    const members: Members = new Map();
    yauzl.open(file, { lazyEntries: true }, (error, zip) => {
      if (error) return reject(error);
      zip.on('error', reject);
      zip.on('end', () => resolve(members));
      zip.on('entry', (entry: yauzl.Entry) => {
        zip.openReadStream(entry, (cause, stream) => {
          if (cause) return reject(cause);
          const chunks: Buffer[] = [];
          stream.on('data', (chunk: Buffer) => chunks.push(chunk));
          stream.on('end', () => {
            members.set(entry.fileName.slice(entry.fileName.indexOf('/') + 1), Buffer.concat(chunks));
            zip.readEntry();
          });
        });
      });
      zip.readEntry();
    });
  });
}

/** Manifests that fit the members again, as someone who covers up a change would make them. */
export function withManifests(members: Members): Members {
  const result = new Map(members);
  const lines = (names: string[]): Buffer =>
    Buffer.from(
      names
        .sort()
        .map((name) => `${sha256(result.get(name)!)}  ${name}\n`)
        .join(''),
    );
  const payload = [...result.keys()].filter((name) => name.startsWith('data/'));
  result.set('manifest-sha256.txt', lines(payload));
  const bytes = payload.reduce((sum, name) => sum + result.get(name)!.length, 0);
  const info = result
    .get('bag-info.txt')!
    .toString()
    .replace(/Payload-Oxum: .*/, `Payload-Oxum: ${bytes}.${payload.length}`);
  result.set('bag-info.txt', Buffer.from(info));
  const tags = [...result.keys()].filter(
    (name) => !name.startsWith('data/') && !name.startsWith('signature/') && !name.startsWith('tagmanifest'),
  );
  result.set('tagmanifest-sha256.txt', lines(tags));
  return result;
}

/** The same, and signed anew by a key of one's own. */
export function signedAnew(members: Members, key: KeyObject = generateKeyPairSync('ed25519').privateKey): Members {
  const result = withManifests(members);
  const statement = statementOf(result.get('tagmanifest-sha256.txt')!.toString(), { key, at: 0 });
  result.set('signature/statement.txt', Buffer.from(statement));
  result.set('signature/statement.sig', Buffer.from(signed(statement, key)));
  result.set('signature/public-key.pem', Buffer.from(publicPem(key)));
  return result;
}

export async function writeMembers(file: string, members: Members, folder = 'pack'): Promise<string> {
  const zip = new yazl.ZipFile();
  for (const [name, bytes] of members) zip.addBuffer(bytes, `${folder}/${name}`);
  zip.end();
  await pipeline(zip.outputStream, createWriteStream(file));
  return file;
}

/** Changes the text of one member. */
export function edited(members: Members, name: string, change: (text: string) => string): Members {
  const before = members.get(name);
  if (before === undefined) throw new Error(`the pack has no ${name}`);
  const after = change(before.toString());
  if (after === before.toString()) throw new Error(`nothing of ${name} was changed`);
  return new Map(members).set(name, Buffer.from(after));
}
